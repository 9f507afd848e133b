import { describe, expect, it } from 'vitest';
import { sampleLog } from '#support/sampleLog.ts';
import { balanceFindings, waterBalance } from './balance.ts';
import { figure, finding, rowsText, surenessAfter, worstFirst } from './finding.ts';
import { airFlowOf } from './flow.ts';
import { dropTimeS, gridOf, onGrid } from './grid.ts';
import { sensorLag, DEFAULT_LAG } from './lagEstimate.ts';
import { shareBounds, sharesOf, valueAt } from './shares.ts';

const empty = new Float64Array(0);

describe('the grid', () => {
	it('runs in whole seconds from charge to drop', () => {
		const log = { ...sampleLog(), timeS: Float64Array.of(-2, 0.4, 3, 5.7), marks: [] };
		expect([...gridOf(log)]).toEqual([0, 1, 2, 3, 4, 5]);
		expect([...gridOf({ ...log, marks: [{ name: 'drop', timeS: 3.2 }] })]).toEqual([0, 1, 2, 3]);
		expect([...gridOf({ ...log, timeS: Float64Array.of(1.5, 4) })]).toEqual([2, 3, 4]);
	});
	it('ends with the log when drop is marked after it, and is empty for an empty log', () => {
		const log = {
			...sampleLog(),
			timeS: Float64Array.of(0, 3),
			marks: [{ name: 'drop', timeS: 9 } as const]
		};
		expect(dropTimeS(log)).toBe(3);
		expect(gridOf({ ...log, timeS: empty })).toHaveLength(0);
	});
	it('bridges missing values and holds the ends', () => {
		const found = onGrid(
			Float64Array.of(1, 2, 3, 4),
			[NaN, 5, NaN, 7],
			Float64Array.of(0, 1, 2, 3, 4, 5)
		);
		expect([...found!]).toEqual([5, 5, 5, 6, 7, 7]);
		expect(onGrid(Float64Array.of(1, 2), [NaN, NaN], Float64Array.of(1))).toBeNull();
		expect(onGrid(empty, [], Float64Array.of(1))).toBeNull();
	});
	it('averages samples that are closer than it, evenly around each second', () => {
		const timeS = Float64Array.from({ length: 9 }, (_, i) => i / 2);
		const ramp = onGrid(
			timeS,
			timeS.map((s) => 3 * s),
			Float64Array.of(1, 2, 3)
		)!;
		expect([...ramp]).toEqual([3, 6, 9]);
		const zigzag = onGrid(
			timeS,
			timeS.map((_, i) => i % 2),
			Float64Array.of(1, 2, 3)
		)!;
		for (const value of zigzag) expect(value).toBeCloseTo(2 / 3, 12);
	});
});

describe('the air flow', () => {
	const grid = gridOf(sampleLog());
	it('follows the fan, relative to charge, and stays unknown without a figure', () => {
		const flow = airFlowOf(sampleLog({ flowFactor: (s) => (s < 200 ? 1 : 0.9) }), grid, null);
		expect(flow).toMatchObject({ atChargeGS: null, from: 'fanPct' });
		expect([flow.factor[199], flow.factor[200]]).toEqual([1, 0.9]);
	});
	it('prefers a logged flow, which also gives the figure', () => {
		const log = sampleLog({ extra: { airFlowGS: grid.map((s) => (s < 100 ? 5 : 6)) } });
		expect(airFlowOf(log, grid, null)).toMatchObject({ atChargeGS: 5, from: 'airFlowGS' });
		expect(airFlowOf(log, grid, 4.4).atChargeGS).toBe(4.4);
		expect(airFlowOf(log, grid, null).factor[150]).toBeCloseTo(1.2, 12);
	});
	it('holds a setting against its noise', () => {
		const log = sampleLog({ extra: { fanPct: grid.map((s) => 60 + 0.3 * Math.sin(s)) } });
		expect(new Set(airFlowOf(log, grid, 4).factor).size).toBe(1);
	});
	it('is even, and said so, where nothing is logged or the fan stands still', () => {
		const without = airFlowOf(sampleLog({ without: ['fanPct'] }), grid, 4);
		expect(without.findings[0]?.problem.message).toContain('No fan or air setting');
		const stopped = airFlowOf(
			sampleLog({ flowFactor: (s) => (s < 100 ? 1 : 0), extra: { humidityRatioGKg: grid } }),
			grid,
			4
		);
		expect(stopped.findings[0]?.problem.message).toContain('fanPct falls to 0');
		for (const flow of [without, stopped]) expect(new Set(flow.factor)).toEqual(new Set([1]));
	});
});

describe('the sensor lag', () => {
	const factor = Float64Array.from({ length: 300 }, (_, i) => (i < 120 ? 1 : 0.8));
	const behind = (lagS: number, noise = 0) => {
		let shown = 5;
		return factor.map((value, i) => {
			const kept = Math.exp(-1 / lagS);
			shown = i === 0 ? 5 : kept * shown + (1 - kept) * ((5 + i / 60) / value);
			return shown + noise * Math.sin(i * i);
		});
	};
	it('is taken as given', () => {
		expect(sensorLag(7, behind(9), factor, 300)).toEqual({ lagS: 7, from: 'given', errorS: 0 });
	});
	it('is estimated from a step of the air', () => {
		const found = sensorLag(null, behind(9, 0.02), factor, 300);
		expect(found.from).toBe('estimated');
		expect(Math.abs(found.lagS - 9)).toBeLessThan(0.5);
		expect(found.errorS).toBeLessThan(1);
	});
	it('is assumed without a step, with a small or late one, or under too much noise', () => {
		const even = factor.map(() => 1);
		expect(sensorLag(null, behind(9), even, 300)).toBe(DEFAULT_LAG);
		expect(sensorLag(null, behind(9), factor, 100)).toBe(DEFAULT_LAG);
		expect(sensorLag(null, behind(9, 2), factor, 300)).toBe(DEFAULT_LAG);
		expect(sensorLag(null, empty, empty, 0)).toBe(DEFAULT_LAG);
	});
});

describe('shares of the water', () => {
	const timeS = Float64Array.from({ length: 101 }, (_, i) => i);
	it('sum to one and follow the bounds', () => {
		const bounds = shareBounds(timeS, { onsetS: 60, endS: 80 }, null);
		expect(bounds).toEqual({ early: 30, middle: 60, around: 80 });
		const shares = sharesOf(timeS, timeS.slice(), bounds);
		expect(shares.early).toBeCloseTo(0.3, 12);
		expect(shares.middle).toBeCloseTo(0.3, 12);
		expect(shares.around).toBeCloseTo(0.2, 12);
		expect(shares.after).toBeCloseTo(0.2, 12);
	});
	it('take the span by temperature where there is no crack, else the end of the time', () => {
		const none = { onsetS: null, endS: null };
		const bounds = shareBounds(
			timeS,
			none,
			timeS.map((s) => 130 + s)
		);
		expect(bounds).toEqual({ early: 30, middle: 60, around: 75 });
		expect(shareBounds(timeS, none, null)).toEqual({ early: 37.5, middle: 75, around: 100 });
		expect(
			shareBounds(
				timeS,
				none,
				timeS.map((s) => 100 + s)
			).around
		).toBe(100);
	});
	it('never lie outside 0 to 1, even where the release dips below nought', () => {
		const dip = timeS.map((s) => (s < 20 ? -s / 10 : s - 22));
		const shares = sharesOf(timeS, dip, { early: 15, middle: 60, around: 80 });
		expect(shares.early).toBe(0);
		const sum = shares.early + shares.middle + shares.around + shares.after;
		expect(sum).toBeCloseTo(1, 12);
	});
	it('can not be taken of nothing', () => {
		const nothing = timeS.map(() => 0);
		expect(() => sharesOf(timeS, nothing, { early: 1, middle: 2, around: 3 })).toThrow(RangeError);
	});
	it('read a series between its places', () => {
		expect([-1, 0, 1.25, 9].map((s) => valueAt(Float64Array.of(0, 1, 2), [0, 10, 30], s))).toEqual([
			0, 0, 15, 30
		]);
		expect(valueAt(Float64Array.of(5), [7], 5)).toBe(7);
	});
});

describe('the water balance', () => {
	it('closes within what is usual and shows what is not explained', () => {
		const balance = waterBalance(6.5, 50, 43, 11)!;
		expect(balance).toMatchObject({
			releasedG: 6.5,
			weighedLossG: 7,
			greenWaterG: 5.5,
			unexplainedG: 0.5,
			closes: true
		});
		expect(balanceFindings(balance, 43, null)).toEqual([]);
	});
	it('does not close when more left than was lost, or less than the green water', () => {
		for (const [released, out, moisture] of [
			[8, 43, 11],
			[3.5, 43, null],
			[4.5, 44, 16]
		] as const) {
			const balance = waterBalance(released, 50, out, moisture);
			expect(balance?.closes).toBe(false);
			expect(balanceFindings(balance, 43, null)[0]?.problem.message).toContain(
				`${released} g of water`
			);
		}
	});
	it('can not be made without flow or weights', () => {
		for (const [released, charge, out] of [
			[null, 50, 43],
			[6, null, 43],
			[6, 50, null]
		] as const) {
			expect(waterBalance(released, charge, out, 11)).toBeNull();
		}
		expect(balanceFindings(null, 43, null)).toEqual([]);
	});
});

describe('findings', () => {
	it('are put worst first and take from the sureness', () => {
		const findings = [finding('a', 'small', 0.1), finding('b', 'large', 0.5)];
		expect(worstFirst(findings).map(({ path }) => path)).toEqual(['b', 'a']);
		expect(surenessAfter(findings)).toBeCloseTo(0.95 * 0.9 * 0.5, 12);
		expect(surenessAfter([])).toBe(0.95);
	});
	it('name rows from 1, at most three spans', () => {
		expect(rowsText([0], 9)).toBe('row 1 (1 of 9)');
		expect(rowsText([0, 1, 2, 5], 9)).toBe('rows 1-3 and 6 (4 of 9)');
		expect(rowsText([0, 2, 4, 6, 8], 9)).toBe('rows 1, 3, 5 and others (5 of 9)');
	});
	it('round figures to three digits', () => {
		expect([12.345, 0.0012345, 100].map(figure)).toEqual(['12.3', '0.00123', '100']);
	});
});
