import { expect, it } from 'vitest';
import { BASELINE, driftOf } from './drift.ts';

/** Even numbers from 0 to 1 by a 32-bit linear congruence, twelve of them summed to a normal value. */
function normals(seed: number, count: number): number[] {
	let state = (seed * 7919 + 17) >>> 0;
	const even = () => {
		state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
		return state / 2 ** 32;
	};
	for (let i = 0; i < 20; i++) even();
	return Array.from({ length: count }, () => {
		let sum = -6;
		for (let i = 0; i < 12; i++) sum += even();
		return sum;
	});
}

it('says nothing before the baseline is full (W1)', () => {
	const short = driftOf([1, 2, 1, 2, 1, 2, 1, 2, 1, 2, 1, null, null], 0.1);
	expect(short).toEqual({ count: BASELINE - 1, baseline: null, outOfLine: [], drift: null });
});

it('takes centre and scatter from the first twelve (W1)', () => {
	// 1 and 2 in turn: mean 1.5, moving range 1, sigma 1 / 1.128.
	const { baseline } = driftOf([1, 2, 1, 2, 1, 2, 1, 2, 1, 2, 1, 2, 50], 0.1);
	expect(baseline!.centre).toBeCloseTo(1.5, 12);
	expect(baseline!.sigma).toBeCloseTo(0.8862269, 6);
	expect(baseline!.high - baseline!.centre).toBeCloseTo(3 * baseline!.sigma, 12);
});

it('finds a slow drift where it began, and its size (W2)', () => {
	// Scatter of 1, a rise of a quarter a batch from the 16th on.
	let near = 0;
	for (let seed = 1; seed <= 40; seed++) {
		const values = normals(seed, 36).map((v, i) => v + Math.max(0, i - 15) * 0.25);
		const { drift } = driftOf(values, 0.1);
		expect(drift, `seed ${seed}`).not.toBeNull();
		expect(drift!.side, `seed ${seed}`).toBe('high');
		if (drift!.since >= 13 && drift!.since <= 26 && drift!.noticedAt <= 34) near++;
	}
	expect(near).toBeGreaterThanOrEqual(32);
});

it('calls few series that only scatter a drift: 20 batches after the first twelve', () => {
	const alarms = Array.from({ length: 400 }, (_, seed) => driftOf(normals(seed + 1000, 32), 0.1));
	const share = alarms.filter(({ drift }) => drift !== null).length / alarms.length;
	expect(share).toBeLessThan(0.07);
});

it('names one batch out of line and no drift for it (W3)', () => {
	const values: (number | null)[] = normals(3, 20);
	values[14] = 4.9;
	const { outOfLine, drift } = driftOf(values, 0.1);
	expect(outOfLine).toContain(14);
	expect(drift).toBeNull();
});

it('passes over batches without the figure and keeps their places (W4)', () => {
	const values = normals(5, 30).map((v, i) => (i % 3 === 1 ? null : v + (i > 18 ? 6 : 0)));
	const { count, drift } = driftOf(values, 0.1);
	expect(count).toBe(20);
	expect(drift!.since).toBeGreaterThanOrEqual(18);
	expect(values[drift!.noticedAt]).not.toBeNull();
});

it('believes no scatter below the least one', () => {
	const equal = Array.from({ length: 20 }, (_, i) => (i < 15 ? 14 : 14.01));
	expect(driftOf(equal, 0.1).drift).toBeNull();
	expect(driftOf(equal, 0.1).baseline!.sigma).toBe(0.1);
});
