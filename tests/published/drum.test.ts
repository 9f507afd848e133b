/**
 * Drum readings against closed forms and published tables. Formulas are worked beside each check; where
 * a publication is only remembered it says 'from memory'.
 */
import { describe, expect, it } from 'vitest';
import type { RoastLog } from '#lib/domain/curve/log.ts';
import { rateOfRise, rorNoise } from '#lib/domain/drum/curve.ts';
import { readDrum } from '#lib/domain/drum/read.ts';
import type { DrumContext, DrumReading } from '#lib/domain/drum/reading.ts';

const SECONDS = 600;

/** A drum log of 600 s with a row every second on a curve that is known in closed form. */
function logOf(beanC: (seconds: number) => number, crackS?: number): RoastLog {
	const timeS = Float64Array.from({ length: SECONDS + 1 }, (_, i) => i);
	const heard = crackS === undefined ? [] : [{ name: 'firstCrackEar' as const, timeS: crackS }];
	return {
		kind: 'drum',
		timeS,
		channels: { beanC: timeS.map(beanC) },
		marks: [{ name: 'charge', timeS: 0 }, ...heard, { name: 'drop', timeS: SECONDS }]
	};
}

function read(log: RoastLog, context: DrumContext = { chargeG: null, outG: null }): DrumReading {
	const outcome = readDrum(log, context);
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	return outcome.value;
}

describe('rate of rise', () => {
	it.each([
		// Savitzky and Golay, Anal. Chem. 36 (1964) 1627, first derivative, quadratic (publication from
		// memory; rows equal scipy.signal.savgol_coeffs 1.17.1): window s, integers, norm.
		[4, [-2, -1, 0, 1, 2], 10],
		[6, [-3, -2, -1, 0, 1, 2, 3], 28],
		[8, [-4, -3, -2, -1, 0, 1, 2, 3, 4], 60]
	] as const)('over %i s has the weights %j / %i', (windowS, integers, norm) => {
		const half = windowS / 2;
		for (const [place, integer] of integers.entries()) {
			const impulse = integers.map((_, i) => (i === place ? 1 : 0));
			const found = rateOfRise(impulse, windowS);
			expect(found[half]).toBeCloseTo((60 * integer) / norm, 12);
			expect([...found].filter((value) => !Number.isNaN(value))).toHaveLength(1);
		}
	});

	it('is the slope of a parabola wherever the window fits, and nothing elsewhere', () => {
		const found = rateOfRise(
			Float64Array.from({ length: 301 }, (_, t) => 90 + 0.4 * t - 0.0003 * t * t),
			30
		);
		for (let t = 0; t <= 300; t++) {
			if (t < 15 || t > 285) expect(found[t]).toBeNaN();
			else expect(found[t]).toBeCloseTo(60 * (0.4 - 0.0006 * t), 9);
		}
	});

	it('of a cubic errs by its third coefficient times (3 n^2 + 3 n - 1) / 5, n places a side', () => {
		// Least squares of k^3 on k over -n..n is sum k^4 / sum k^2 (Faulhaber's sums); n = 15: 143.8.
		const c = 1e-6;
		const found = rateOfRise(
			Float64Array.from({ length: 301 }, (_, t) => c * t ** 3),
			30
		);
		for (const t of [15, 100, 285]) {
			expect(found[t]).toBeCloseTo(60 * c * (3 * t * t + 143.8), 9);
		}
	});

	it.each([
		// Noise gain of the same tables, the sum of squared weights: 5, 7, 9, 11 points.
		[4, 1 / 10],
		[6, 1 / 28],
		[8, 1 / 60],
		[10, 1 / 110]
	])('over %i s passes that share of the variance', (windowS, gain) => {
		expect(rorNoise(1, 1, windowS)).toBeCloseTo(60 * Math.sqrt(gain), 12);
	});
});

describe('a parabola of a bean curve', () => {
	// T = 80 + k (t - 120)^2, 220 C at 600 s: turning point, passings, rates and area in closed form.
	const k = 140 / 480 ** 2;
	const reading = read(logOf((t) => 80 + k * (t - 120) ** 2, 480));

	it('has its turning point at the vertex', () => {
		expect(reading.marks.turningPoint!.timeS).toBe(120);
		expect(reading.marks.turningPoint!.temperatureC).toBeCloseTo(80, 9);
		expect(reading.marks.turningPoint!.rorCMin).toBeCloseTo(0, 9);
	});
	it('passes 150 C at 120 + sqrt(70 / k) s', () => {
		// Straight lines between seconds put it late by at most k / 4 over the slope: 0.0003 s.
		expect(reading.marks.colourChange!.timeS).toBeCloseTo(120 + Math.sqrt(70 / k), 2);
	});
	it('has at first crack and drop its own temperature and slope', () => {
		expect(reading.marks.firstCrack!.temperatureC).toBeCloseTo(80 + k * 360 ** 2, 9);
		expect(reading.marks.firstCrack!.rorCMin).toBeCloseTo(60 * 2 * k * 360, 9);
		expect(reading.marks.drop.temperatureC).toBeCloseTo(220, 9);
		expect(reading.highestRorCMin).toBeCloseTo(60 * 2 * k * 465, 9);
	});
	it('has above 100 C the area of its integral', () => {
		// Integral of k u^2 - 20 from sqrt(20 / k) to 480, in C s; trapezoids add h^2 / 12 times the rise
		// of the slope (below 0.05 C s), and less than that where the curve comes through the base.
		const u = Math.sqrt(20 / k);
		const exact = (k * (480 ** 3 - u ** 3)) / 3 - 20 * (480 - u);
		expect(Math.abs(60 * reading.areaCMin! - exact)).toBeLessThan(0.1);
	});
});

describe('a first-order probe', () => {
	/**
	 * Beans warm as 22 + r t; a probe of lag L at T0 reads 22 + r (t - L) + (T0 - 22 + r L) exp(-t / L), the
	 * ramp response of a first-order system (any text on control), and turns at L ln((T0 - 22 + r L) / r L).
	 */
	const ramp = (lagS: number, startC: number, slope: number) => ({
		beanC: (t: number) =>
			22 + slope * (t - lagS) + (startC - 22 + slope * lagS) * Math.exp(-t / lagS),
		turnsS: lagS * Math.log((startC - 22 + slope * lagS) / (slope * lagS))
	});

	it.each([
		[15, 190, 0.4],
		[25, 200, 0.35],
		[40, 210, 0.3],
		[60, 220, 0.33]
	])(
		'with a lag of %i s from %i C turns where it must, and tells its lag',
		(lagS, startC, slope) => {
			const { beanC, turnsS } = ramp(lagS, startC, slope);
			const reading = read(logOf(beanC));
			expect(Math.abs(reading.marks.turningPoint!.timeS - turnsS)).toBeLessThan(1.5);
			expect(Math.abs(reading.probeLagS! - lagS)).toBeLessThan(0.03 * lagS);
		}
	);
});

describe('weight loss', () => {
	it('of 1,000 g that come out as 850 g is 15 %', () => {
		// Worked example: green at 11 % and roasted at 2 % moisture; (1000 - 850) / 1000.
		const log = logOf((t) => 80 + (t - 120) ** 2 / 1600);
		expect(read(log, { chargeG: 1000, outG: 850 }).weightLoss).toBe(0.15);
	});
});
