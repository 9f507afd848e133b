/**
 * The reading of a sample roast against general-purpose libraries, worked examples and simulated
 * roasts with a known truth. No open data set of roast humidity curves was found: the accuracy of
 * first crack rests on simulation alone.
 */
import { describe, expect, it } from 'vitest';
import { burstShape } from '#lib/domain/release/burst.ts';
import { lagged, unlagged } from '#lib/domain/release/lag.ts';
import { readSample } from '#lib/domain/release/read.ts';
import { weightLossOf } from '#lib/domain/release/context.ts';
import { crackAccuracy, falseDistinct, saidTooNoisy } from '#support/crackAccuracy.ts';
import { sampleContext } from '#support/sampleLog.ts';

describe('release rate', () => {
	it('is the water that an air stream carries off', () => {
		// Dry air 10 g/s, from 25 C and 50 % to 150 C and 2 % at 101,325 Pa: .546430 g/s, from the
		// humidity ratios of PsychroLib 1.1.1 (ASHRAE Fundamentals 2017, chapter 1).
		const timeS = Float64Array.from({ length: 301 }, (_, i) => i);
		const share = timeS.map((s) => Math.min(1, Math.max(0, (s - 20) / 200)));
		const outcome = readSample(
			{
				kind: 'sample',
				timeS,
				channels: {
					sensorC: share.map((x) => 25 + 125 * x),
					humidityRhPct: share.map((x) => 50 * (2 / 50) ** x),
					fanPct: share.map(() => 60)
				},
				marks: []
			},
			sampleContext({ airFlowGS: 10 })
		);
		if (!outcome.ok) throw new Error(outcome.problems[0]?.message);
		const { rate } = outcome.value.series;
		expect(Math.abs(rate[0]!)).toBeLessThan(1e-3);
		for (const second of [240, 260, 280, 300]) {
			expect(Math.abs(rate[second]! - 0.54643)).toBeLessThan(1e-5);
		}
	});
});

describe('sensor lag', () => {
	it('reaches 63.2 % of a step after one time constant', () => {
		// The defining property of a first-order sensor; 1 - exp(-1), 1 - exp(-3).
		const step = Float64Array.from({ length: 200 }, (_, i) => (i === 0 ? 0 : 1));
		const shown = lagged(step, 20);
		// The step is drawn as a ramp over the first second, so half a second late.
		const at = (seconds: number) => 1 - Math.exp(-(seconds - 0.5) / 20);
		expect(Math.abs(shown[20]! - at(20))).toBeLessThan(2e-4);
		expect(Math.abs(shown[60]! - at(60))).toBeLessThan(2e-4);
	});

	it('is taken off as value plus lag times slope of scipy.signal.savgol_filter', () => {
		// SciPy 1.17.1: savgol_filter(x, 15, 3) + 9 * savgol_filter(x, 15, 3, deriv=1), a rounded
		// random walk of 30 steps. Within half a window of the ends SciPy goes on with the cubic, and we
		// don't.
		const x = Float64Array.of(
			0.35,
			1.17,
			1.5,
			0.19,
			1.1,
			1.55,
			1.01,
			1.59,
			1.95,
			2.25,
			2.28,
			2.82,
			2.09,
			1.92,
			1.44,
			2.04,
			2.08,
			1.79,
			1.01,
			0.75,
			0.76,
			0.48,
			1.78,
			2.78,
			0.07,
			-1.82,
			-1.99,
			-2.41,
			-2.2,
			-1.98
		);
		const found = unlagged(x, 9, 15);
		const expected = SCIPY;
		for (let i = 7; i < expected.length - 7; i++) {
			expect(Math.abs(found[i]! - expected[i]!), `value ${i}`).toBeLessThan(1e-9);
		}
		expect(expected).toHaveLength(30);
	});
});

describe('cracking', () => {
	it('is a bell passed through a first-order release: scipy.stats.exponnorm', () => {
		// SciPy 1.17.1: exponnorm.pdf(t, 5 / 12, loc=150, scale=12).
		const shape = burstShape(300, 150, 12);
		for (const [second, value] of EXPONNORM) {
			expect(Math.abs(shape[second]! - value)).toBeLessThan(2e-5);
		}
	});
});

describe('weight loss', () => {
	it('is 15 % for 1,000 g that come out as 850 g', () => {
		// Worked example: 1,000 g green at 11 % to 850 g at 2 %; by arithmetic.
		expect(weightLossOf(1000, 850).loss).toBeCloseTo(0.15, 12);
	});
});

describe('first crack on held-back simulated roasts', () => {
	// Goals: 95 % within 5 s, mean error below 1 s, less than 2 % called distinct where nothing cracks.
	it('is found within 5 s of the half-cracked moment in 95 % of distinct cracks', () => {
		const accuracy = crackAccuracy({ seeds: 'held back', logs: 90 });
		expect(accuracy.logs).toBeGreaterThan(60);
		expect(accuracy.within).toBeGreaterThanOrEqual(0.95);
		expect(Math.abs(accuracy.biasS)).toBeLessThan(1);
	});
	it('is not called distinct where nothing cracks', () => {
		expect(falseDistinct({ seeds: 'held back', logs: 54 })).toBeLessThan(0.02);
	});
	it('is said to be unsure when the signal is too noisy', () => {
		expect(saidTooNoisy({ seeds: 'held back', logs: 6, noiseRhPct: 0.4 })).toBe(1);
		expect(saidTooNoisy({ seeds: 'held back', logs: 6, noiseRhPct: 0.2 })).toBe(0);
	});
});

const SCIPY = [
	-0.866816813905, 0.244038335847, 1.25784058752, 2.1499657581, 2.89578966458, 3.47068812397,
	3.85003695324, 4.0092119694, 3.90399563672, 3.34000355527, 2.44203188968, 2.49232961646,
	2.06174380521, 1.10375878044, 0.637965955613, -0.415460892049, -1.11807277526, 0.353320351217,
	1.95149504417, 1.69468288084, 0.76050678733, -0.956645335057, -2.54965530058, -3.32110972851,
	-4.10302580263, -4.89188165266, -5.68415540832, -6.47632519931, -7.26486915535, -8.04626540616
];
const EXPONNORM = [
	[110, 0.0000522942],
	[130, 0.0046384922],
	[145, 0.0234977819],
	[150, 0.0292066289],
	[155, 0.0310178751],
	[160, 0.0282539668],
	[180, 0.0047674537],
	[200, 0.0001555029]
] as const;
