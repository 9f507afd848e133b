import { describe, expect, it } from 'vitest';
import type { Channel, RoastLog } from '../curve/log.ts';
import {
	baseGS,
	evenNoise,
	sampleContext,
	sampleLog,
	type SampleShape
} from '#support/sampleLog.ts';
import { readSample } from './read.ts';
import { READING_METHOD, type ReadingContext, type SampleReading } from './reading.ts';

function read(shape: SampleShape = {}, context: Partial<ReadingContext> = {}): SampleReading {
	const outcome = readSample(sampleLog(shape), sampleContext(context));
	if (!outcome.ok) throw new Error(outcome.problems[0]?.message);
	return outcome.value;
}

function refused(log: RoastLog, context: Partial<ReadingContext> = {}) {
	const outcome = readSample(log, sampleContext(context));
	if (outcome.ok) throw new Error('the log was read');
	return outcome.problems;
}

const said = (reading: SampleReading) => reading.problems.map(({ message }) => message).join('\n');

describe('a good log', () => {
	const reading = read({ lagS: 8, noiseRhPct: 0.05 }, { sensorLagS: 8, outG: 47.1 });

	it('has the release in g/s on one grid from charge to drop', () => {
		const { series } = reading;
		expect(reading.rateUnit).toBe('g/s');
		expect(reading.method).toBe(READING_METHOD);
		const lengths = [series.timeS, series.rate, series.baseRate, series.humidityRatioGKg];
		for (const values of [
			...lengths,
			series.absoluteHumidityGM3!,
			series.beanC!,
			series.exhaustC!
		]) {
			expect(values).toHaveLength(421);
			expect(values.every(Number.isFinite)).toBe(true);
		}
		for (const second of [100, 200, 260]) {
			expect(Math.abs(series.rate[second]! - (baseGS(second) - baseGS(0)))).toBeLessThan(0.0005);
		}
	});

	it('has the crack where it was put, with a verdict and its reasons', () => {
		const { crack } = reading;
		expect(crack.verdict).toBe('distinct');
		expect(Math.abs(crack.peakS! - 330)).toBeLessThan(2);
		expect(crack.onsetS!).toBeLessThan(crack.peakS!);
		expect(crack.endS!).toBeGreaterThan(crack.peakS!);
		expect(crack.temperatureFrom).toBe('bean');
		expect(
			crack.temperatureC! / (25 + 190 * (1 - Math.exp(-crack.peakS! / 150)) + 0.01 * crack.peakS!)
		).toBeCloseTo(1, 2);
		expect(crack.prominence!).toBeGreaterThan(0.5);
		expect(crack.sureness).toBeGreaterThan(0.9);
		// The middle of a burst is told better than its ends.
		const { onset, peak, end } = crack.markSureness!;
		expect(peak).toBe(crack.sureness);
		expect(onset).toBeLessThan(peak);
		expect(end).toBeLessThan(onset);
		expect(end).toBeGreaterThan(0.3);
		expect(crack.because.length).toBeGreaterThan(1);
	});

	it('has base and burst that make up the release', () => {
		const { rate, baseRate } = reading.series;
		const burst = rate.map((value, i) => value - baseRate[i]!);
		expect(Math.min(...burst)).toBeGreaterThanOrEqual(-1e-12);
		expect(Math.max(...burst)).toBeGreaterThan(0.008);
	});

	it('has shares that sum to one, development and weight loss', () => {
		const { early, middle, around, after } = reading.shares;
		expect(early + middle + around + after).toBeCloseTo(1, 12);
		expect(reading.developmentS).toBe(reading.dropS - reading.crack.onsetS!);
		expect(reading.developmentRatio).toBe(reading.developmentS! / 420);
		expect(reading.weightLoss).toBeCloseTo(2.9 / 50, 12);
		expect(reading.dropTemperatureC!).toBeCloseTo(25 + 190 * (1 - Math.exp(-420 / 150)) + 4.2, 1);
	});

	it('has the water carried off, and a balance', () => {
		const total = Array.from({ length: 420 }, (_, s) => baseGS(s + 0.5) - baseGS(0)).reduce(
			(a, b) => a + b
		);
		// Of the burst's .35 g, what the base then misses is taken off: .03 a second, fading.
		const burstG = 0.35 * (1 - (0.03 / 0.01) * (1 - Math.exp(-0.01 * 85)));
		// The room is read off the first seconds, when a little is already given off.
		expect(Math.abs(reading.waterReleasedG! / (total + burstG) - 1)).toBeLessThan(0.01);
		expect(reading.balance).toMatchObject({ closes: true, weighedLossG: 50 - 47.1 });
	});

	it('has no problem, and its inputs', () => {
		expect(reading.problems).toEqual([]);
		expect(reading.sureness).toBe(0.95);
		expect(reading.inputs).toEqual({
			pressurePa: 101325,
			pressureFrom: 'given',
			airFlowGS: 4,
			sensorLagS: 8,
			sensorLagFrom: 'given',
			humidityFrom: 'humidityRhPct',
			humidityTemperatureFrom: 'sensorC',
			chargeG: 50,
			outG: 47.1,
			greenMoisturePct: null,
			earCrackS: null
		});
	});

	it('gives the same reading twice', () => {
		expect(read({ lagS: 8, noiseRhPct: 0.05 }, { sensorLagS: 8, outG: 47.1 })).toEqual(reading);
	});
});

describe('what is not known', () => {
	it('makes the rate relative without a flow: shares a second that sum to one', () => {
		const reading = read({}, { airFlowGS: null });
		expect(reading.rateUnit).toBe('relative');
		expect(reading.waterReleasedG).toBeNull();
		expect(reading.balance).toBeNull();
		const { rate } = reading.series;
		const area = rate.reduce((sum, value) => sum + value, 0) - (rate[0]! + rate.at(-1)!) / 2;
		expect(area).toBeCloseTo(1, 9);
		expect(reading.crack.peakS).toBe(read().crack.peakS);
	});
	it('takes the pressure from the altitude, else as standard', () => {
		expect(read({}, { pressurePa: null, altitudeM: 500 }).inputs).toMatchObject({
			pressureFrom: 'altitude'
		});
		expect(read({}, { pressurePa: null, altitudeM: 500 }).inputs.pressurePa).toBeCloseTo(
			95460.8,
			1
		);
		expect(read({}, { pressurePa: null }).inputs).toMatchObject({
			pressurePa: 101325,
			pressureFrom: 'standard'
		});
	});
	it('assumes the lag and says so with its effect', () => {
		const reading = read({}, { sensorLagS: null });
		expect(reading.inputs).toMatchObject({ sensorLagS: 10, sensorLagFrom: 'default' });
		expect(said(reading)).toContain('lag of 10 s is not given and is assumed: each second');
		expect(reading.crack.because.join()).toContain('10 s is assumed');
		expect(reading.crack.sureness).toBeLessThan(read().crack.sureness);
	});
	it('estimates the lag from a logged step of the air', () => {
		const flowFactor = (s: number) => (s < 200 ? 1 : 0.75);
		const reading = read({ lagS: 9, flowFactor, noiseRhPct: 0.01 }, { sensorLagS: null });
		expect(reading.inputs.sensorLagFrom).toBe('estimated');
		expect(Math.abs(reading.inputs.sensorLagS - 9)).toBeLessThan(1);
	});
	it('falls back to the exhaust temperature, then to time, and says so', () => {
		const byExhaust = read({ without: ['beanC'] });
		expect(byExhaust.crack).toMatchObject({ verdict: 'distinct', temperatureFrom: 'exhaust' });
		expect(byExhaust.dropTemperatureC).toBeNull();
		expect(said(byExhaust)).toContain('No bean temperature');
		const byTime = read({ without: ['beanC', 'exhaustC'] });
		expect(byTime.crack).toMatchObject({
			verdict: 'weak',
			temperatureFrom: null,
			temperatureC: null
		});
		expect(Math.abs(byTime.crack.peakS! - 330)).toBeLessThan(3);
		expect(said(byTime)).toContain('by time alone');
	});
	it('takes the end of the log as the drop when none is marked', () => {
		const reading = read({ marks: [] });
		expect(reading.dropS).toBe(420);
		expect(said(reading)).toContain('No drop is marked');
	});
	it('leaves the rows after the drop out', () => {
		const marks = [{ name: 'drop', timeS: 400 }] as const;
		const humidityRhPct = sampleLog().channels.humidityRhPct!.map((value, i) =>
			i > 400 ? 200 : value
		);
		const reading = read({ extra: { humidityRhPct }, marks }, { outG: 47.1 });
		expect(reading.dropS).toBe(400);
		expect(reading.series.timeS).toHaveLength(401);
		expect(reading.problems).toEqual([]);
	});
	it('has no absolute humidity from a humidity ratio without temperature', () => {
		const humidityRatioGKg = Float64Array.from(read().series.humidityRatioGKg);
		const reading = read({
			extra: { humidityRatioGKg },
			without: ['humidityRhPct', 'sensorC', 'exhaustC']
		});
		expect(reading.series.absoluteHumidityGM3).toBeNull();
		expect(reading.inputs).toMatchObject({
			humidityFrom: 'humidityRatioGKg',
			humidityTemperatureFrom: null
		});
	});
});

describe('no crack to be found', () => {
	it('is an answer, with development from the ear where it was heard', () => {
		const marks = [
			{ name: 'drop', timeS: 420 },
			{ name: 'firstCrackEar', timeS: 310 }
		] as const;
		const reading = read({ burstG: 0, noiseRhPct: 0.05, marks });
		expect(reading.crack).toMatchObject({
			verdict: 'none',
			onsetS: null,
			peakS: null,
			endS: null,
			prominence: null
		});
		expect(reading.crack.because[0]).toContain('the largest burst is');
		expect(reading.developmentS).toBe(110);
		expect(said(reading)).toContain('heard at 310 s');
		expect(reading.series.baseRate).toEqual(reading.series.rate);
	});
	it('has no development when it was not heard either', () => {
		const reading = read({ burstG: 0, noiseRhPct: 0.05 });
		expect([reading.developmentS, reading.developmentRatio]).toEqual([null, null]);
	});
	it('is sure when the beans never got hot', () => {
		const cold = sampleLog().timeS.map((s) => 25 + s / 4);
		const reading = read({ extra: { beanC: cold } });
		expect(reading.crack.verdict).toBe('none');
		expect(reading.crack.because[0]).toContain('reached 130 C; a crack is looked for from 183 C');
	});
});

describe('the air and the room', () => {
	it('leaves a logged step of the fan out of the release', () => {
		const flowFactor = (s: number) => (s < 250 ? 1 : 0.85);
		const stepped = read({ flowFactor });
		const even = read();
		const worst = even.series.rate.reduce(
			(most, value, i) => Math.max(most, Math.abs(value - stepped.series.rate[i]!)),
			0
		);
		expect(worst).toBeLessThan(1e-5);
		expect(stepped.crack.peakS).toBeCloseTo(even.crack.peakS!, 2);
	});
	it('does not call a step that was not logged a distinct crack', () => {
		const fanPct = sampleLog().timeS.map(() => 60);
		const reading = read({
			burstG: 0,
			noiseRhPct: 0.05,
			flowFactor: (s) => (s < 320 ? 1 : 0.85),
			extra: { fanPct }
		});
		expect(reading.crack.verdict).not.toBe('distinct');
	});
	it('takes a constant offset of the sensor off where the room is known', () => {
		const truth = read();
		const reading = read({ offsetRhPct: 1.5 }, { roomHumidityGKg: 8 });
		expect(said(reading)).toContain('points of relative humidity above');
		expect(reading.waterReleasedG! / truth.waterReleasedG!).toBeCloseTo(1, 2);
		expect(said(read({ offsetRhPct: -1 }, { roomHumidityGKg: 8 }))).toContain(
			'points of relative humidity below'
		);
	});
	it('does not correct a disagreement that is no offset, but says it', () => {
		const reading = read({}, { roomHumidityGKg: 2 });
		expect(said(reading)).toContain('shows 8 g/kg, but the room is given as 2 g/kg');
	});
	it('warns when the water does not close against the weights', () => {
		expect(said(read({}, { airFlowGS: 8, outG: 47.1 }))).toMatch(
			/It would take an air flow 68.9 % off or a sensor that drifted/
		);
	});
	it('warns of weights that can not be', () => {
		const reading = read({}, { outG: 55 });
		expect(reading.weightLoss).toBeNull();
		expect(said(reading)).toContain('The charge is 50 g and 55 g came out');
		expect(read({}, { chargeG: null }).weightLoss).toBeNull();
	});
});

describe('a poor log', () => {
	it('says that the signal is too noisy', () => {
		expect(said(read({ noiseRhPct: 0.4 }))).toContain('Signal too noisy');
		expect(said(read({ noiseRhPct: 0.2 }))).not.toContain('Signal too noisy');
		const next = evenNoise(0.6);
		const humidityRatioGKg = Float64Array.from(
			read().series.humidityRatioGKg,
			(value) => value + next()
		);
		expect(said(read({ extra: { humidityRatioGKg } }))).toContain('Signal too noisy');
	});
	it('bridges a run of missing values and says so', () => {
		const humidityRhPct = sampleLog().channels.humidityRhPct!.map((value, i) =>
			i > 150 && i < 190 ? NaN : value
		);
		const reading = read({ extra: { humidityRhPct } });
		expect(said(reading)).toContain('No usable value from 150 to 190 s');
		expect(reading.series.rate.every(Number.isFinite)).toBe(true);
		expect(Math.abs(reading.crack.peakS! - 330)).toBeLessThan(3);
	});
	it('leaves impossible rows out and says which', () => {
		const humidityRhPct = sampleLog().channels.humidityRhPct!.map((value, i) =>
			i === 99 ? 130 : value
		);
		expect(said(read({ extra: { humidityRhPct } }))).toContain('row 100 (1 of 421)');
	});
	it('says that its rows are far apart', () => {
		const log = sampleLog();
		const every = (values: Float64Array) => values.filter((_, i) => i % 6 === 0);
		const channels = Object.fromEntries(
			Object.entries(log.channels).map(([name, values]) => [name, every(values)])
		) as Partial<Record<Channel, Float64Array>>;
		const outcome = readSample({ ...log, timeS: every(log.timeS), channels }, sampleContext());
		if (!outcome.ok) throw new Error(outcome.problems[0]?.message);
		expect(said(outcome.value)).toContain('a row every 6 s');
	});
});

describe('a log that can not be read', () => {
	const log = sampleLog();
	it.each([
		['is empty', { ...log, timeS: new Float64Array(0), channels: {} }, 'no rows'],
		['has one row', { ...log, timeS: Float64Array.of(0), channels: {} }, '1 rows'],
		['is too short', sampleLog({ seconds: 40 }), '41 rows over 40 s'],
		[
			'is out of order',
			{ ...log, timeS: log.timeS.map((s) => (s === 50 ? 30 : s)) },
			'Time is 30 s after 49 s'
		],
		[
			'has a time missing',
			{ ...log, timeS: log.timeS.map((s) => (s === 50 ? NaN : s)) },
			'Time is NaN s'
		],
		[
			'has a channel of another length',
			sampleLog({ extra: { gasPct: Float64Array.of(1) } }),
			'gasPct has 1 values for 421 rows'
		],
		['has no humidity', sampleLog({ without: ['humidityRhPct'] }), 'has no humidity'],
		[
			'has no temperature for its humidity',
			sampleLog({ without: ['sensorC', 'exhaustC'] }),
			'no temperature'
		],
		[
			'has humidity that never changes',
			sampleLog({ extra: { humidityRatioGKg: log.timeS.map(() => 9) } }),
			'9 in every row'
		],
		[
			'has humidity that never rises',
			sampleLog({ extra: { humidityRatioGKg: log.timeS.map((s) => 9 - s / 100) } }),
			'never carries more water'
		],
		[
			'has nothing but missing values',
			sampleLog({ extra: { humidityRhPct: log.timeS.map(() => NaN) } }),
			'has no humidity'
		],
		[
			'was dropped before charge',
			sampleLog({ marks: [{ name: 'drop', timeS: -5 }] }),
			'expected at least 30 rows'
		]
	])('because it %s says so', (_, broken, message) => {
		expect(refused(broken)[0]?.message).toContain(message);
	});
	it.each([
		['pressurePa', 1013],
		['altitudeM', 9000],
		['sensorLagS', -1],
		['airFlowGS', 0],
		['roomHumidityGKg', NaN]
	] as const)('because %s is %f says so', (name, value) => {
		expect(refused(log, { [name]: value })[0]).toMatchObject({ path: name });
	});
	it('lists everything that is wrong at once', () => {
		const paths = refused(sampleLog({ seconds: 40 }), { pressurePa: 0, airFlowGS: -1 }).map(
			({ path }) => path
		);
		expect(paths).toEqual(['log', 'pressurePa', 'airFlowGS']);
	});
	it('does not break on constant temperatures', () => {
		const even = log.timeS.map(() => 200);
		const reading = read({ extra: { beanC: even } });
		expect(reading.crack.verdict).toMatch(/distinct|weak|none/);
		const cold = read({ extra: { beanC: log.timeS.map(() => 20) } });
		expect(cold.crack.verdict).toBe('none');
	});
});
