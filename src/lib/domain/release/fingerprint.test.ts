import { describe, expect, it } from 'vitest';
import { baseGS, sampleContext, sampleLog, type SampleShape } from '#support/sampleLog.ts';
import type { ReadingContext, SampleReading } from './reading.ts';
import {
	AXIS_FROM_C,
	FEATURES,
	FINGERPRINT_METHOD,
	fingerprintOf,
	parseFingerprint,
	pointC,
	type Fingerprint
} from './fingerprint.ts';
import { readSample } from './read.ts';

function reading(shape: SampleShape = {}, over: Partial<ReadingContext> = {}): SampleReading {
	const found = readSample(sampleLog(shape), sampleContext(over));
	if (!found.ok) throw new Error(found.problems[0]?.message);
	return found.value;
}

function fingerprint(of: SampleReading): Fingerprint {
	const found = fingerprintOf(of);
	if (!found.ok) throw new Error(found.problems[0]?.message);
	return found.value;
}

/** A reading whose temperature and rate are given functions of time. */
function made(
	seconds: number,
	beanC: (s: number) => number,
	rateGS: (s: number) => number,
	crack: Partial<SampleReading['crack']> = {}
): SampleReading {
	const whole = reading();
	const timeS = Array.from({ length: seconds + 1 }, (_, i) => i);
	const none = {
		verdict: 'none',
		onsetS: null,
		peakS: null,
		endS: null,
		prominence: null
	} as const;
	return {
		...whole,
		crack: { ...whole.crack, ...none, ...crack },
		series: { ...whole.series, timeS, beanC: timeS.map(beanC), rate: timeS.map(rateGS) }
	};
}

const sum = (values: readonly number[]) => values.reduce((total, value) => total + value, 0);

describe('the curve of a fingerprint', () => {
	it('does not depend on how fast the sample was heated (rule 1)', () => {
		// Water leaves by temperature alone; one roast takes half as long again, at an uneven pace.
		const perDegree = (celsius: number) => 1 + Math.sin(celsius / 25) ** 2;
		const even = made(
			300,
			(s) => 40 + (180 * s) / 300,
			(s) => 0.6 * perDegree(40 + 0.6 * s)
		);
		const path = (s: number) => 40 + 180 * (s / 450) ** 1.3;
		const pace = (s: number) => (180 * 1.3 * (s / 450) ** 0.3) / 450;
		const slow = made(450, path, (s) => pace(s) * perDegree(path(s)));
		const [a, b] = [fingerprint(even), fingerprint(slow)];
		a.curve.forEach((value, i) => expect(Math.abs(b.curve[i]! / value - 1)).toBeLessThan(0.01));
	});

	it('has the share of all water within each degree (rule 2)', () => {
		// A straight heating with an even rate: 180 degrees share the water evenly.
		const found = fingerprint(
			made(
				360,
				(s) => 40 + s / 2,
				() => 0.01
			)
		);
		for (const value of found.curve) expect(value).toBeCloseTo(1000 / 180, 4);
		expect(sum(found.curve)).toBeCloseTo((1000 * 128) / 180, 2);
		expect([pointC('bean', 0), pointC('bean', 127)]).toEqual([80.5, 207.5]);
	});

	it('holds what the sample did not go through, and says what it did (rule 3)', () => {
		const early = fingerprint(
			made(
				321,
				(s) => 40 + s / 2,
				() => 0.01
			)
		);
		expect([early.knownFromC, early.knownToC]).toEqual([80, 200]);
		expect(early.curve[127]).toBeCloseTo(1000 / 160.5, 4);
		// A probe that turns at 95 C.
		const turning = (s: number) => (s < 30 ? 150 - (55 * s) / 30 : 95 + (s - 30) / 2);
		const late = fingerprint(made(290, turning, () => 0.01));
		// The smoothing of the temperature rounds the turning point.
		expect(late.knownFromC).toBeGreaterThanOrEqual(95);
		expect(late.knownFromC).toBeLessThanOrEqual(101);
		expect(late.curve[0]).toBeCloseTo(late.curve[10]!, 1);
	});

	it('is refused where too much of the range is missing, and says what was expected (rule 3)', () => {
		const light = fingerprintOf(
			made(
				290,
				(s) => 40 + s / 2,
				() => 0.01
			)
		);
		expect(light.ok ? '' : light.problems[0]?.message).toContain(
			'goes from 40 to 185 C; expected 110 C or less to 193 C or more'
		);
		const without = reading({ without: ['beanC', 'exhaustC'] });
		const blind = fingerprintOf(without);
		expect(blind.ok ? '' : blind.problems[0]?.message).toContain('No bean or exhaust temperature');
	});

	it('takes the exhaust temperature where there is no bean temperature, and says so', () => {
		const timeS = Float64Array.from({ length: 421 }, (_, i) => i);
		const exhaustC = timeS.map((s) => 90 + (130 * s) / 420);
		const found = fingerprint(reading({ without: ['beanC'], extra: { exhaustC } }));
		expect(found.axis).toBe('exhaust');
		expect([found.knownFromC, found.knownToC]).toEqual([AXIS_FROM_C.exhaust, 219]);
	});
});

describe('the features of a fingerprint', () => {
	it('have the crack in degrees and its height, and the early share of the reading', () => {
		const read = reading();
		const { features } = fingerprint(read);
		// The hand-made log: 50 g of charge; cracking normal about 330 s with a spread of 12 s.
		const beanC = (s: number) => 25 + 190 * (1 - Math.exp(-s / 150)) + 0.01 * s;
		expect(Math.abs(features.crackTemperatureC! - beanC(330))).toBeLessThan(0.7);
		const widthC = beanC(330 + 1.645 * 12) - beanC(330 - 1.645 * 12);
		expect(Math.abs(features.crackWidthC! / widthC - 1)).toBeLessThan(0.25);
		expect(features.crackProminence).toBe(read.crack.prominence);
		expect(features.earlyShare).toBe(read.shares.early);
	});

	it('have the water of the whole roast for a kilogram of charge', () => {
		// The base of the hand-made log alone: 50 g of charge.
		const { features } = fingerprint(reading({ burstG: 0 }));
		const releasedG = sum(Array.from({ length: 421 }, (_, s) => baseGS(s) - baseGS(0)));
		expect(Math.abs(features.totalGPerKg! / (releasedG / 0.05) - 1)).toBeLessThan(0.01);
	});

	it('have no width without a crack, and no total without air flow or charge', () => {
		const { features } = fingerprint(reading({ burstG: 0 }));
		expect(features).toMatchObject({
			crackProminence: 0,
			crackWidthC: null,
			crackTemperatureC: null
		});
		expect(fingerprint(reading({}, { airFlowGS: null })).features.totalGPerKg).toBeNull();
		expect(fingerprint(reading({}, { chargeG: null })).features.totalGPerKg).toBeNull();
	});

	it('tell an even release from a late one, and a flat middle from a steep one', () => {
		const straight = (s: number) => 40 + s / 2;
		const even = fingerprint(made(360, straight, () => 0.01)).features;
		expect(even.evenness).toBeCloseTo(1, 6);
		expect(even.middleSlope).toBeCloseTo(0, 6);
		// All water within the upper half of the range, evenly: half of it would have to leave lower.
		const late = fingerprint(made(360, straight, (s) => (straight(s) < 144 ? 0 : 0.01))).features;
		expect(late.evenness).toBeCloseTo(0.5, 1);
		// A straight rise from nought at 80 C: over 130 to 180 C the mean is that of 155 C, 75 degrees up,
		// so 10 degrees more are 10 / 75 of it.
		const rising = fingerprint(made(360, straight, (s) => Math.max(0, straight(s) - 80))).features;
		expect(rising.middleSlope).toBeCloseTo(10 / 75, 3);
	});
});

describe('a stored fingerprint', () => {
	const one = fingerprint(reading());

	it('comes back from JSON as it was, and its curve from 32 bits to every digit kept', () => {
		const back = parseFingerprint(JSON.stringify(one));
		expect(back.ok && back.value).toEqual(one);
		const narrow = [...Float32Array.from(one.curve)].map((value) => Math.round(1e5 * value) / 1e5);
		expect(narrow).toEqual(one.curve);
		expect(one.method).toBe(FINGERPRINT_METHOD);
		expect(Object.keys(one.features)).toEqual([...FEATURES]);
	});

	it('is refused when it is of another method, not whole or not JSON', () => {
		const problem = (json: string) => {
			const back = parseFingerprint(json);
			return back.ok ? '' : back.problems[0]?.message;
		};
		expect(problem(JSON.stringify({ ...one, method: 'fingerprint-0' }))).toContain('fingerprint-0');
		expect(problem(JSON.stringify({ ...one, curve: one.curve.slice(1) }))).toContain('not whole');
		expect(problem(JSON.stringify({ ...one, features: {} }))).toContain('not whole');
		expect(problem('{')).toContain('not JSON');
		expect(problem('null')).toContain('method undefined');
	});
});
