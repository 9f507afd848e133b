import { describe, expect, it } from 'vitest';
import { evenNoise } from '#support/sampleLog.ts';
import { lagged, rescaleBehindLag, unlagged, unlagNoiseGain } from './lag.ts';

const seconds = (count: number) => Float64Array.from({ length: count }, (_, i) => i);

function spreadOf(values: ArrayLike<number>): number {
	const list = Array.from(values);
	const mean = list.reduce((sum, value) => sum + value, 0) / list.length;
	return Math.sqrt(list.reduce((sum, value) => sum + (value - mean) ** 2, 0) / list.length);
}

describe('the sensor lag', () => {
	it('follows a ramp the lag behind, exactly', () => {
		const shown = lagged(seconds(200), 8);
		// Closed form of the first-order response to a ramp from rest: t - lag (1 - exp(-t / lag)).
		for (const t of [0, 1, 5, 30, 199])
			expect(shown[t]).toBeCloseTo(t - 8 * (1 - Math.exp(-t / 8)), 10);
	});
	it('of nought passes the truth', () => {
		expect([...lagged([1, 5, 2], 0)]).toEqual([1, 5, 2]);
		expect(lagged([], 5)).toHaveLength(0);
	});
	it('is undone exactly on a cubic, but for the half windows at its ends', () => {
		const cubic = seconds(60).map((t) => 1 + t - 0.05 * t ** 2 + 0.0004 * t ** 3);
		const slope = seconds(60).map((t) => 1 - 0.1 * t + 0.0012 * t ** 2);
		const shown = cubic.map(
			(value, i) => value - 7 * slope[i]! + 49 * (-0.1 + 0.0024 * i) - 343 * 0.0024
		);
		// `shown` solves d shown / dt = (cubic - shown) / 7 for that cubic.
		const found = unlagged(shown, 7, 15);
		for (let i = 7; i < 53; i++) expect(found[i]).toBeCloseTo(cubic[i]!, 8);
	});
	it('is undone exactly on a straight line, ends included', () => {
		// A settled first-order sensor runs the lag behind a ramp.
		const found = unlagged(
			seconds(60).map((t) => t - 7),
			7,
			15
		);
		for (let i = 0; i < 60; i++) expect(found[i]).toBeCloseTo(i, 10);
	});
	it('leaves no spike at the ends: their noise is no more than twice that between them', () => {
		const next = evenNoise(1);
		const ends: number[] = [];
		const middles: number[] = [];
		for (let turn = 0; turn < 200; turn++) {
			const found = unlagged(
				seconds(62).map(() => next()),
				10,
				31
			);
			ends.push(found[0]!, found.at(-1)!);
			middles.push(found[31]!);
		}
		expect(spreadOf(ends) / spreadOf(middles)).toBeLessThan(2);
	});
	it('is undone without blowing up the noise: a wider window is quieter', () => {
		const next = evenNoise(1);
		const noise = seconds(20000).map(() => next());
		for (const points of [15, 31, 61]) {
			const gain = unlagNoiseGain(10, points);
			expect(spreadOf(unlagged(noise, 10, points)) / gain).toBeCloseTo(1, 1);
		}
		// Undoing it place by place would multiply the noise by about the lag times sqrt(2).
		expect(unlagNoiseGain(10, 31)).toBeLessThan(1);
		expect(unlagNoiseGain(10, 61)).toBeLessThan(unlagNoiseGain(10, 31));
	});
	it('leaves a series shorter than the window as it is', () => {
		expect([...unlagged(Float64Array.of(1, 2, 3), 10, 15)]).toEqual([1, 2, 3]);
	});
});

describe('rescaling behind the lag', () => {
	it('with an even factor is that factor', () => {
		const shown = seconds(50).map((t) => Math.sin(t / 9));
		const twice = rescaleBehindLag(shown, seconds(50).fill(2), 10);
		for (let i = 0; i < 50; i++) expect(twice[i]).toBeCloseTo(2 * shown[i]!, 12);
	});
	it('takes a step of the flow out of the release', () => {
		// An even release of 12 into a flow that falls to half at 40 s.
		const factor = seconds(120).map((t) => (t < 40 ? 1 : 0.5));
		const truth = factor.map((value) => 12 / value);
		// The same discrete lag as the rescaling uses: the input of a second is its end value.
		const kept = Math.exp(-1 / 9);
		const shown = new Float64Array(120);
		shown[0] = truth[0]!;
		for (let i = 1; i < 120; i++) shown[i] = kept * shown[i - 1]! + (1 - kept) * truth[i]!;
		const release = rescaleBehindLag(shown, factor, 9);
		for (const value of release) expect(value).toBeCloseTo(12, 10);
	});
	it('without lag multiplies place by place', () => {
		expect([...rescaleBehindLag(Float64Array.of(1, 2), Float64Array.of(3, 4), 0)]).toEqual([3, 8]);
		expect(rescaleBehindLag(new Float64Array(0), new Float64Array(0), 5)).toHaveLength(0);
	});
});
