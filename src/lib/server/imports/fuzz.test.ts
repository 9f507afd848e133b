/**
 * Hostile input: whatever the bytes, an import answers with an Outcome and doesn't throw, and what it
 * accepts is sound. The seed is printed with a failure; failing seeds are to be kept here.
 */
import { expect, test } from 'vitest';
import { seededChance } from '#lib/domain/stats/chance.ts';
import { remember, sniffLog } from './logFile.ts';
import { parseMapping } from './mapping.ts';
import { readLog } from './readLog.ts';
import { readTable } from './tableFile.ts';
import { productsTable } from './tables.ts';

const row = (i: number) => `${i},${60 + i * 4}.5,${20 + i},${i === 7 ? 'Drop' : ''}`;
const LINES = Array.from({ length: 9 }, (_, i) => row(i));
const PLAIN = ['time_s,bean_c,humidity_pct,event', ...LINES].join('\n') + '\n';
const SEMI = 'Roaster: one\n\n' + PLAIN.replaceAll(',', ';').replaceAll('.', ',');
const QUOTED = PLAIN.replace(/[^,\n]+/g, (cell) => `"${cell}"`).replaceAll('\n', '\r\n');
const UTF16 = new Uint8Array(Buffer.from('\ufeff' + PLAIN, 'utf16le'));
const SEEDS = [PLAIN, SEMI, QUOTED, PLAIN.replaceAll(',', '\t')]
	.map((text) => new TextEncoder().encode(text))
	.concat(UTF16);

const SPLICES = ['\0', '"', '""', ',', ';', '\t', '\n', '\r', '\ufeff', '=1+2', '-', 'NaN', '1e999']
	.concat([
		'9'.repeat(400),
		'\u0085',
		'é',
		'__proto__',
		'1:99',
		'2026-13-45 25:61',
		'1,234',
		"1'234"
	])
	.map((text) => new TextEncoder().encode(text));

function mutate(bytes: Uint8Array, random: () => number): Uint8Array {
	let out = bytes;
	const times = 1 + Math.floor(random() * 4);
	for (let k = 0; k < times; k++) {
		const at = Math.floor(random() * (out.length + 1));
		const end = Math.min(out.length, at + Math.floor(random() * 20));
		const act = Math.floor(random() * 5);
		const splice = SPLICES[Math.floor(random() * SPLICES.length)]!;
		if (act === 0) out = out.slice(0, at);
		else if (act === 1) out = joined(out.subarray(0, at), splice, out.subarray(at));
		else if (act === 2) out = joined(out.subarray(0, at), out.subarray(end));
		else if (act === 3) out = joined(out.subarray(0, end), out.subarray(at));
		else out = out.map((byte, i) => (i === at ? Math.floor(random() * 256) : byte));
	}
	return out;
}

function joined(...parts: readonly Uint8Array[]): Uint8Array {
	return new Uint8Array(Buffer.concat(parts));
}

test('2,000 mutated files: no throw, and what is accepted rises in time and fits its mapping', () => {
	const seed = 20261125;
	const random = seededChance(seed);
	const memory = [remember(sniffLog(SEEDS[0]!, 'seed.csv').mapping!)];
	let accepted = 0;
	for (let i = 0; i < 2000; i++) {
		const bytes = mutate(SEEDS[i % SEEDS.length]!, random);
		const at = `seed ${seed}, file ${i}`;
		const preview = sniffLog(bytes, 'fuzz.csv', i % 2 ? memory : []);
		if (preview.mapping === null) {
			expect(preview.problems.length, at).toBeGreaterThan(0);
			continue;
		}
		const outcome = readLog(bytes, preview.mapping, 'fuzz.csv');
		expect(outcome.ok, at).toBe(preview.problems.length === 0);
		if (!outcome.ok) {
			expect(outcome.problems.length, at).toBeGreaterThan(0);
			continue;
		}
		accepted++;
		expect(parseMapping(JSON.stringify(preview.mapping)), at).toEqual({
			ok: true,
			value: preview.mapping
		});
		const { timeS, channels } = outcome.value.log;
		expect(
			timeS.every((t, k) => t >= 0 && (k === 0 || t > timeS[k - 1]!)),
			at
		).toBe(true);
		for (const values of Object.values(channels)) expect(values.length, at).toBe(timeS.length);
	}
	// Both ways are well trodden.
	expect(accepted).toBeGreaterThan(200);
	expect(accepted).toBeLessThan(1800);
});

test('500 files of random bytes: no throw', () => {
	const random = seededChance(7);
	for (let i = 0; i < 500; i++) {
		const bytes = Uint8Array.from({ length: Math.floor(random() * 300) }, () => random() * 256);
		const preview = sniffLog(bytes, 'noise');
		expect(preview.mapping !== null || preview.problems.length > 0).toBe(true);
	}
});

test('500 mutated tables: no throw, and an accepted row has every field', () => {
	const random = seededChance(11);
	const table = new TextEncoder().encode(
		'code,name,shade,price_per_kg\nA,Alder,light,17.4\nB,"Birch, dark",dark,16.25\n'
	);
	let accepted = 0;
	for (let i = 0; i < 500; i++) {
		const bytes = mutate(table, random);
		const outcome = readTable(bytes, 'fuzz.csv', productsTable, { siteCurrency: 'GBP' });
		if (!outcome.ok) {
			expect(outcome.problems.length).toBeGreaterThan(0);
			continue;
		}
		accepted++;
		for (const { value } of outcome.value.rows) {
			expect(Number.isSafeInteger(value.priceMinorPerKg) && value.priceMinorPerKg >= 0).toBe(true);
			expect(['light', 'medium', 'dark']).toContain(value.shade);
		}
	}
	expect(accepted).toBeGreaterThan(20);
});
