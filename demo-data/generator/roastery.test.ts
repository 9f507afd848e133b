import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { standing } from '#lib/domain/lot/standing.ts';
import type { LotEvents, Stage, TestEvents, Verdict } from '#lib/domain/lot/lot.ts';
import { addDays, daysBetween, instantAt, weekdayOf } from '#lib/domain/quantity/week.ts';
import { ANCHOR } from './calendar.ts';
import { filesOf, inventRoastery } from './roastery.ts';

/** The demo roastery's files, read back as plain rows and checked against what they promise. */

const files = filesOf(inventRoastery());
type Row = Readonly<Record<string, string>>;

const read = new Map<string, Row[]>();

/** Rows of a comma file whose quoted cells hold no line ends; read once. */
function rows(path: string): Row[] {
	const known = read.get(path);
	if (known) return known;
	const list = parse(path);
	read.set(path, list);
	return list;
}

function parse(path: string): Row[] {
	const [head = '', ...lines] = (files.get(path) ?? '').trimEnd().split('\n');
	const names = head.split(',');
	return lines.map((line) => {
		const cells = [...line.matchAll(/(?:^|,)(?:"((?:[^"]|"")*)"|([^,]*))/g)].map(
			(match) => match[1]?.replaceAll('""', '"') ?? match[2] ?? ''
		);
		return Object.fromEntries(names.map((name, i) => [name, cells[i] ?? '']));
	});
}

function of(row: Row, column: string): string {
	const cell = row[column];
	if (cell === undefined) throw new Error(`no column ${column}`);
	return cell;
}

const grams = (row: Row, column: string): number => Math.round(Number(of(row, column)) * 1000);
const instant = (text: string): number =>
	instantAt(
		text.slice(0, 10),
		Number(text.slice(11, 13)) * 60 + Number(text.slice(14, 16)),
		'Europe/London'
	);

const lots = rows('lots.csv');
const tests = rows('tests.csv');
const production = rows('production.csv');
const releases = rows('releases.csv');
const reopenings = rows('reopenings.csv');

interface Step {
	readonly at: string;
	readonly massG: number;
}

function ledger(code: string): Step[] {
	const mine = (list: readonly Row[]): Row[] => list.filter((row) => of(row, 'lot') === code);
	return [
		...mine(rows('movements.csv')).map((row) => ({
			at: of(row, 'at'),
			massG: grams(row, 'mass_kg')
		})),
		...mine(rows('samples.csv'))
			.filter((row) => of(row, 'stage') === 'arrival')
			.map((row) => ({
				at: of(row, 'roasted_at'),
				massG: -Math.round(Number(of(row, 'charge_g')))
			})),
		...mine(tests)
			.filter((row) => of(row, 'roasted_at') !== '')
			.map((row) => ({ at: of(row, 'roasted_at'), massG: -grams(row, 'charge_kg') })),
		...mine(production).map((row) => ({
			at: of(row, 'roasted_at'),
			massG: -grams(row, 'charge_kg')
		}))
	].sort((a, b) => (a.at < b.at ? -1 : 1));
}

const ledgers = new Map(lots.map((lot) => [of(lot, 'code'), ledger(of(lot, 'code'))]));
const onHandG = (code: string): number =>
	(ledgers.get(code) ?? []).reduce((sum, step) => sum + step.massG, 0);

function eventsOf(code: string): LotEvents {
	const times = (list: readonly Row[], column = 'at'): number[] =>
		list.filter((row) => of(row, 'lot') === code).map((row) => instant(of(row, column)));
	const lot = lots.find((row) => of(row, 'code') === code) ?? {};
	const steps = ledgers.get(code) ?? [];
	const arrival = rows('samples.csv').filter((row) => of(row, 'stage') === 'arrival');
	return {
		createdAt: instant(of(lot, 'created_at')),
		receivedAt: steps[0] === undefined ? null : instant(steps[0].at),
		arrivalSampleAt: times(arrival, 'roasted_at')[0] ?? null,
		tests: tests.filter((row) => of(row, 'lot') === code).map(testEvents),
		releasedAt: times(releases),
		reopenedAt: times(reopenings),
		rejectedAt: times(rows('rejections.csv'))[0] ?? null,
		onHandG: onHandG(code),
		emptiedAt: steps.length > 0 && onHandG(code) === 0 ? instant(steps.at(-1)?.at ?? '') : null
	};
}

function testEvents(test: Row): TestEvents {
	const same = (row: Row): boolean =>
		of(row, 'lot') === of(test, 'lot') && of(row, 'test') === of(test, 'number');
	const cupping = rows('cuppings.csv').find(same);
	const verdict = rows('verdicts.csv').find(same);
	const roasted = of(test, 'roasted_at');
	return {
		number: Number(of(test, 'number')),
		plannedAt: instant(of(test, 'planned_at')),
		roastedAt: roasted === '' ? null : instant(roasted),
		cuppedAt: cupping ? instant(of(cupping, 'cupped_at')) : null,
		verdictAt: verdict ? instant(of(verdict, 'at')) : null,
		verdict: verdict ? (of(verdict, 'verdict') as Verdict) : null
	};
}

const stages = new Map<string, Stage>(
	lots.map((lot) => [of(lot, 'code'), standing(eventsOf(of(lot, 'code'))).stage])
);
const count = (stage: Stage): number =>
	[...stages.values()].filter((each) => each === stage).length;

describe('the demo roastery', () => {
	it('is on disk as the generator writes it', () => {
		const folder = join(import.meta.dirname, '..');
		for (const [path, text] of files) {
			const stored = join(folder, path);
			expect(existsSync(stored), path).toBe(true);
			expect(readFileSync(stored, 'utf8') === text, path).toBe(true);
		}
	});

	it('has about sixty lots of six kinds, each arrived one with a sample log', () => {
		expect(lots.length).toBeGreaterThanOrEqual(58);
		expect(lots.length).toBeLessThanOrEqual(66);
		expect(new Set(lots.map((lot) => of(lot, 'kind'))).size).toBe(6);
		for (const sample of rows('samples.csv')) expect(files.has(of(sample, 'log_file'))).toBe(true);
	});

	it('keeps every ledger at or above zero', () => {
		for (const [code, steps] of ledgers) {
			let stock = 0;
			for (const step of steps) {
				stock += step.massG;
				expect(stock, `${code} at ${step.at}`).toBeGreaterThanOrEqual(0);
			}
		}
	});

	it('stands today where it was promised to', () => {
		expect(count('released')).toBe(12);
		expect(count('rejected')).toBe(1);
		for (const stage of [
			'expected',
			'arrived',
			'sample roasted',
			'queued for test',
			'in test',
			'in review'
		] as const)
			expect(count(stage), stage).toBe(2);
		expect(count('used up')).toBe(lots.length - 25);
	});

	it('has one lot that follows another of which only days are left, and is far from released', () => {
		const late = lots.filter((lot) => {
			const before = of(lot, 'replaces');
			if (stages.get(of(lot, 'code')) === 'released' || stages.get(before) !== 'released')
				return false;
			return onHandG(before) < weeklyGreenG(before);
		});
		expect(late.map((lot) => [of(lot, 'kind'), stages.get(of(lot, 'code'))])).toEqual([
			['decaf', 'arrived']
		]);
	});

	it('roasts for production only what is released and in the blend that day', () => {
		for (const batch of production) {
			const code = of(batch, 'lot');
			const at = of(batch, 'roasted_at');
			const before = (list: readonly Row[]): number =>
				list.filter((row) => of(row, 'lot') === code && of(row, 'at') < at).length;
			expect(before(releases) - before(reopenings), `${code} ${at}`).toBe(1);
			expect(blendOn(of(batch, 'product'), at.slice(0, 10)), `${code} ${at}`).toContain(code);
		}
	});

	it('shares every blend out to a hundred', () => {
		const sums = new Map<string, number>();
		for (const row of blends) {
			const key = `${of(row, 'product')} ${of(row, 'from')}`;
			sums.set(key, (sums.get(key) ?? 0) + Number(of(row, 'share_pct')));
		}
		expect(new Set(sums.values())).toEqual(new Set([100]));
	});

	it('roasts about what was ordered', () => {
		for (const product of rows('products.csv').map((row) => of(row, 'code'))) {
			const sum = (list: readonly Row[], column: string): number =>
				list.reduce(
					(total, row) => total + (of(row, 'product') === product ? Number(of(row, column)) : 0),
					0
				);
			const past = rows('demand.csv').filter((row) => of(row, 'week') < '2026-W48');
			const ratio = sum(production, 'out_kg') / sum(past, 'roasted_kg');
			expect(Math.abs(ratio - 1), product).toBeLessThan(0.02);
		}
	});

	it('roasts tests on weekday shifts and cups them one or two days later', () => {
		const cupped = new Map(
			rows('cuppings.csv').map((row) => [
				`${of(row, 'lot')} ${of(row, 'test')}`,
				of(row, 'cupped_at').slice(0, 10)
			])
		);
		for (const test of tests) {
			const at = of(test, 'roasted_at');
			if (at === '') continue;
			expect(weekdayOf(at.slice(0, 10))).toBeLessThanOrEqual(5);
			expect(at.slice(11) >= '06:30' && at.slice(11) <= '15:00', at).toBe(true);
			const day = cupped.get(`${of(test, 'lot')} ${of(test, 'number')}`);
			if (day === undefined) continue;
			expect([1, 2]).toContain(daysBetween(at.slice(0, 10), day));
			expect(weekdayOf(day)).toBeLessThanOrEqual(5);
		}
	});

	it('needs fewer tests to a release than it did', () => {
		const needed = releases.map((row) => Number(of(row, 'test')));
		const mean = (list: readonly number[]): number =>
			list.reduce((sum, value) => sum + value, 0) / list.length;
		expect(mean(needed.slice(0, 20))).toBeGreaterThan(mean(needed.slice(-20)) + 0.3);
		expect(Math.max(...needed)).toBe(8);
		expect(Math.min(...needed)).toBe(1);
	});

	it('accounts for no more of a test than came out of it', () => {
		for (const test of tests) {
			const back = rows('recoveries.csv')
				.filter(
					(row) => of(row, 'lot') === of(test, 'lot') && of(row, 'test') === of(test, 'number')
				)
				.reduce((sum, row) => sum + grams(row, 'mass_kg'), 0);
			expect(back).toBeLessThanOrEqual(grams(test, 'out_kg'));
		}
	});

	it('has nothing happen on or after the anchor', () => {
		const last = addDays(ANCHOR, -1);
		for (const [path, columns] of [
			['movements.csv', ['at']],
			['samples.csv', ['roasted_at']],
			['tests.csv', ['planned_at', 'roasted_at']],
			['verdicts.csv', ['at']],
			['recoveries.csv', ['at']],
			['releases.csv', ['at']],
			['production.csv', ['roasted_at']]
		] as const)
			for (const row of rows(path))
				for (const column of columns) expect(of(row, column).slice(0, 10) <= last, path).toBe(true);
	});
});

const blends = rows('blends.csv');

/** The lots a product is made of on a day. */
function blendOn(product: string, day: string): string[] {
	const so = blends.filter((row) => of(row, 'product') === product && of(row, 'from') <= day);
	const from = so.reduce(
		(latest, row) => (of(row, 'from') > latest ? of(row, 'from') : latest),
		''
	);
	return so.filter((row) => of(row, 'from') === from).map((row) => of(row, 'lot'));
}

/** Green that the orders of the anchor's week ask of a lot, at a weight loss of 14 %. */
function weeklyGreenG(code: string): number {
	return rows('demand.csv')
		.filter((row) => of(row, 'week') === '2026-W48')
		.reduce((sum, row) => {
			const product = of(row, 'product');
			if (!blendOn(product, ANCHOR).includes(code)) return sum;
			const part = blends.findLast(
				(each) => of(each, 'product') === product && of(each, 'lot') === code
			);
			return (
				sum + (grams(row, 'roasted_kg') * Number(part ? of(part, 'share_pct') : 0)) / 100 / 0.86
			);
		}, 0);
}
