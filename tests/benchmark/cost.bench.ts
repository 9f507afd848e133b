import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { batchCost, netTestCost } from '#lib/domain/cost/batch.ts';
import { statementBy, statementByMonth, type CostedTest } from '#lib/domain/cost/statement.ts';
import { timeMs, type Benchmark, type Figure, type Skipped } from './harness.ts';

/**
 * Ten years of batches costed line by line and summed by month and by origin, against LibreOffice working
 * out the same sheet without a window. What LibreOffice takes to start and to read the sheet's inputs is
 * taken off: only its formulas count.
 */
const LOTS = 5_000;
const BATCHES = 200_000;
const MONTHS = 120;
const ORIGINS = ['BR', 'CO', 'ET', 'GT', 'ID', 'KE', 'PA', 'RW'];
const GOAL_RATIO = 50;
const ROUNDS = 3;

interface Input {
	readonly month: string;
	readonly lot: number;
	readonly greenG: number;
	readonly perKgE4: number;
	readonly gasWh: number;
	readonly powerWh: number;
}

export const benchmark: Benchmark = {
	name: 'ten-year cost roll-up',
	unit: 'ms',
	goal: `>= ${GOAL_RATIO} times as fast as LibreOffice's formulas`,
	slow: true,
	async run(): Promise<Figure | Skipped> {
		if (spawnSync('soffice', ['--version']).status !== 0)
			return { skipped: 'there is no LibreOffice (soffice) to compare with' };
		const inputs = someInputs();
		const times: number[] = [];
		let sums: readonly number[] = [];
		for (let round = 0; round < ROUNDS; round++)
			times.push(await timeMs(() => (sums = rollUp(inputs))));
		const value = Math.min(...times);
		const bare = sheetMs(inputs, false);
		const full = sheetMs(inputs, true);
		const reference = full.ms - bare.ms;
		const same = full.sums.length === sums.length && full.sums.every((sum, i) => sum === sums[i]);
		if (!same)
			throw new Error(
				`LibreOffice's sums differ: ${full.sums.slice(0, 3)} and ${sums.slice(0, 3)}`
			);
		return {
			...{ value, reference, ratio: reference / value },
			holds: reference / value >= GOAL_RATIO,
			note: `${BATCHES} batches of ${LOTS} lots, ${sums.length} sums, equal to the penny; LibreOffice ${Math.round(full.ms)} ms in all, ${Math.round(bare.ms)} ms without formulas`
		};
	}
};

function originOf(lot: number): string {
	return ORIGINS[lot % ORIGINS.length]!;
}

function someInputs(): Input[] {
	return Array.from({ length: BATCHES }, (_, i) => {
		const month = Math.floor((i * MONTHS) / BATCHES);
		const lot = Math.floor((i * LOTS) / BATCHES);
		return {
			month: `${2017 + Math.floor(month / 12)}-${String(1 + (month % 12)).padStart(2, '0')}`,
			lot,
			greenG: 4_000 + ((i * 7_919) % 56_000),
			perKgE4: 52_003 + ((lot * 613) % 40_000),
			gasWh: 5_000 + ((i * 37) % 21_000),
			powerWh: 900 + ((i * 11) % 2_700)
		};
	});
}

/** Costs and sums by the product's own code; sums in pence, months first. */
function rollUp(inputs: readonly Input[]): number[] {
	const tests = inputs.map(
		({ month, lot, greenG, perKgE4, gasWh, powerWh }, testId): CostedTest => {
			const batch = batchCost({
				...{ currency: 'GBP', greenG, landedPerKgE4: perKgE4 },
				gas: { wh: gasWh, perKwhE4: 780, from: 'meter' },
				power: { wh: powerWh, perKwhE4: 2_652, from: 'meter' },
				...{ labourMin: 10, labourPerHourMinor: 1_760, machineMin: 15, machinePerHourMinor: 811 },
				depreciation: {
					...{ costMinor: 3_200_000, residualMinor: 400_000, lifeYears: 12, hoursPerYear: 1_600 }
				},
				...{ qualityMin: 55, qualityPerHourMinor: 2_200 }
			});
			return {
				...netTestCost(batch, []),
				testId,
				lotId: lot,
				day: `${month}-11`,
				roastedG: greenG
			};
		}
	);
	const byMonth = statementByMonth(tests, 'GBP');
	const byOrigin = statementBy(tests, (test) => originOf(test.lotId), 'GBP');
	return [...byMonth.rows, ...byOrigin.rows].map(({ cost }) => cost.minor);
}

/** The same as a sheet: one row a batch, then the sums; read by LibreOffice and written as CSV. */
function sheetMs(
	inputs: readonly Input[],
	hasFormulas: boolean
): { readonly ms: number; readonly sums: readonly number[] } {
	const folder = mkdtempSync(join(tmpdir(), 'trierbook-bench-'));
	try {
		const rows = inputs.map((input, i) => sheetRow(input, i + 1, hasFormulas));
		const keys = hasFormulas
			? [
					...[...new Set(inputs.map(({ month }) => month))].map((key) => ['A', `m${key}`]),
					...ORIGINS.map((key) => ['B', key])
				]
			: [];
		const n = inputs.length;
		const sums = keys.map(([column, key], i) => {
			const own = n + 1 + i;
			return `,${key},,,,,"=SUMIFS(M$1:M$${n};${column}$1:${column}$${n};B${own})"`;
		});
		const path = join(folder, 'batches.csv');
		writeFileSync(path, [...rows, ...sums].join('\n'));
		const started = performance.now();
		const done = spawnSync('soffice', [
			`-env:UserInstallation=file://${join(folder, 'profile')}`,
			...[
				'--headless',
				'--convert-to',
				'csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false'
			],
			'--infilter=CSV:44,34,76,1,,1033,false,true,false,false,false,0,true',
			...['--outdir', join(folder, 'out'), path]
		]);
		const ms = performance.now() - started;
		if (done.status !== 0) throw new Error(String(done.stderr));
		const written = readFileSync(join(folder, 'out', 'batches.csv'), 'utf8')
			.trim()
			.split('\n');
		const found = written.slice(n).map((row) => Math.round(Number(row.split(',')[6]) * 100));
		return { ms, sums: found };
	} finally {
		rmSync(folder, { recursive: true, force: true });
	}
}

/** Month and origin as keys, inputs in C to F, lines in G to L, their sum in M. */
function sheetRow(input: Input, row: number, hasFormulas: boolean): string {
	const { month, lot, greenG, perKgE4, gasWh, powerWh } = input;
	const inputs = `m${month},${originOf(lot)},${greenG},${perKgE4},${gasWh},${powerWh}`;
	if (!hasFormulas) return inputs;
	const lines = [
		`C${row}*D${row}/10000000`,
		`E${row}*780/10000000`,
		`F${row}*2652/10000000`,
		'10*17.6/60',
		'15*(8.11+(32000-4000)/(12*1600))/60',
		'55*22/60'
	].map((formula) => `"=ROUND(${formula};2)"`);
	return `${inputs},${lines.join(',')},=SUM(G${row}:L${row})`;
}
