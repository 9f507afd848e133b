import { describe, expect, it } from 'vitest';
import { cumulativeTrapezoid, trapezoid } from './integrate.ts';
import { findPeaks } from './peaks.ts';
import { evenGrid, pchipSlopes, presentPoints, resampleLinear, resamplePchip } from './resample.ts';
import { savgolFilter, savgolWeights, slopes } from './smooth.ts';

describe('an even grid', () => {
	it('holds both ends when the step allows it', () => {
		expect([...evenGrid(0, 2, 0.5)]).toEqual([0, 0.5, 1, 1.5, 2]);
		expect([...evenGrid(0, 2.4, 1)]).toEqual([0, 1, 2]);
		expect(evenGrid(0, 0.3, 0.1)).toHaveLength(4);
	});
	it('is empty when the end comes first or is missing, and refuses a step of nought', () => {
		expect(evenGrid(1, 0, 1)).toHaveLength(0);
		expect(evenGrid(0, NaN, 1)).toHaveLength(0);
		expect(() => evenGrid(0, 1, 0)).toThrow(RangeError);
	});
});

describe('resampling', () => {
	it.each([resampleLinear, resamplePchip])(
		'%o gives back the samples and never goes outside',
		(read) => {
			const x = [0, 1, 3];
			const y = [5, 7, 6];
			expect([...read(x, y, [-1, 0, 1, 3, 4])]).toEqual([NaN, 5, 7, 6, NaN]);
			expect([...read([2], [9], [1, 2, 3])]).toEqual([NaN, 9, NaN]);
			expect([...read([], [], [1, 2])]).toEqual([NaN, NaN]);
			expect(read(x, y, [])).toHaveLength(0);
		}
	);
	it('of two samples by cubics is the straight line', () => {
		expect([...resamplePchip([0, 2], [1, 5], [0.5, 1, 1.5])]).toEqual([2, 3, 4]);
		expect([...pchipSlopes([0], [1])]).toEqual([0]);
	});
	it('never overshoots a step', () => {
		const read = resamplePchip([0, 1, 2, 3], [0, 0, 1, 1], evenGrid(0, 3, 0.05));
		expect(Math.min(...read)).toBe(0);
		expect(Math.max(...read)).toBe(1);
	});
	it('spreads a missing value only to the gap beside it', () => {
		expect([...resampleLinear([0, 1, 2, 3], [0, NaN, 2, 3], [0.5, 1.5, 2.5])]).toEqual([
			NaN,
			NaN,
			2.5
		]);
	});
	it('leaves out missing values when asked to', () => {
		const { x, y } = presentPoints([0, 1, 2], [4, NaN, Infinity]);
		expect([[...x], [...y]]).toEqual([[0], [4]]);
	});
	it('refuses samples and positions that do not rise, and unequal lengths', () => {
		expect(() => resampleLinear([0, 0], [1, 2], [0])).toThrow('does not come after');
		expect(() => resampleLinear([0, NaN], [1, 2], [0])).toThrow('does not come after');
		expect(() => resampleLinear([0, 1, 2], [1, 2, 3], [1.5, 0.5])).toThrow('do not rise');
		expect(() => resamplePchip([0, 1], [1], [0])).toThrow('2 positions but 1 values');
	});
});

describe('smoothing', () => {
	it('passes a cubic unchanged with its slope and curvature, end to end', () => {
		const cubic = (x: number) => 2 - x + 0.5 * x ** 2 - 0.01 * x ** 3;
		const values = Array.from({ length: 40 }, (_, i) => cubic(i / 2));
		const at = (derivative: number) =>
			savgolFilter(values, { points: 9, order: 3, derivative, step: 0.5 });
		for (let i = 0; i < 40; i++) {
			const x = i / 2;
			expect(at(0)[i]).toBeCloseTo(cubic(x), 9);
			expect(at(1)[i]).toBeCloseTo(-1 + x - 0.03 * x ** 2, 9);
			expect(at(2)[i]).toBeCloseTo(1 - 0.06 * x, 9);
		}
	});
	it('has weights that sum to one, or to nought for a slope', () => {
		for (const offset of [-10, 0, 7]) {
			const sum = (weights: Float64Array) => weights.reduce((total, weight) => total + weight, 0);
			expect(sum(savgolWeights(21, 4, 0, offset))).toBeCloseTo(1, 12);
			expect(sum(savgolWeights(21, 4, 1, offset))).toBeCloseTo(0, 12);
		}
	});
	it('gives NaN for too few values and around missing ones', () => {
		expect([...savgolFilter([1, 2], { points: 3, order: 1 })]).toEqual([NaN, NaN]);
		const values = [1, 1, 1, NaN, 1, 1, 1, 1, 1];
		const filtered = savgolFilter(values, { points: 3, order: 1 });
		expect([...filtered].map(Number.isNaN)).toEqual(values.map((_, i) => i >= 2 && i <= 4));
	});
	it('refuses an even window or an order that does not fit', () => {
		expect(() => savgolWeights(4, 2)).toThrow('not odd');
		expect(() => savgolWeights(5, 5)).toThrow('does not fit');
	});
	it('refuses slopes of unequal lengths, and has none for one point', () => {
		expect(() => slopes([0, 1], [1])).toThrow(RangeError);
		expect([...slopes([1], [1])]).toEqual([NaN]);
		expect([...slopes([0, 1, 3], [0, 2, 6])]).toEqual([2, 2, 2]);
	});
});

describe('peaks', () => {
	it('are none in a constant, rising, empty or missing series', () => {
		for (const values of [[], [1], [2, 2, 2], [1, 2, 3], [3, 2, 1], [NaN, NaN, NaN]]) {
			expect(findPeaks(values)).toEqual([]);
		}
	});
	it('are not called at a plateau that reaches the end', () => {
		expect(findPeaks([0, 2, 2])).toEqual([]);
	});
	it('end at a missing value', () => {
		const [peak] = findPeaks([0, 1, 3, 2, NaN, 9, 0]);
		expect(peak).toMatchObject({ index: 2, prominence: 1 });
	});
	it('take the lower middle of an even plateau', () => {
		expect(findPeaks([0, 1, 1, 0])[0]?.index).toBe(1);
	});
	it('are wider lower down', () => {
		const values = [0, 1, 2, 3, 2, 1, 0];
		expect(findPeaks(values, { widthAt: 0.25 })[0]?.width).toBeCloseTo(1.5, 12);
		expect(findPeaks(values, { widthAt: 1 })[0]?.width).toBeCloseTo(6, 12);
	});
});

describe('areas', () => {
	it('are nought for one point or none, and refuse unequal lengths', () => {
		expect(trapezoid([], [])).toBe(0);
		expect(trapezoid([1], [5])).toBe(0);
		expect(() => trapezoid([1, 2], [1])).toThrow(RangeError);
	});
	it('stay unknown after a missing value', () => {
		expect([...cumulativeTrapezoid([0, 1, 2, 3], [1, 1, NaN, 1])]).toEqual([0, 1, NaN, NaN]);
	});
});
