import { describe, expect, it } from 'vitest';
import { madeDrumLog, type MadeDrum } from '#support/drumLog.ts';
import { gasStepsFor, simulateDrum, usualGoal, DRUM_15 } from '#demo/drum.ts';
import { KIND_PARAMS } from '#demo/bean.ts';
import type { Mark, RoastLog } from '../curve/log.ts';
import { alignAt, compareOutcomes } from './compare.ts';
import { rateOfRise, resampleHold, rorNoise, scatterC } from './curve.ts';
import { readDrum } from './read.ts';
import type { DrumContext, DrumReading } from './reading.ts';

const MADE: MadeDrum = {
	rates: [
		[0, 45],
		[60, 40],
		[120, 24],
		[300, 15],
		[540, 6],
		[660, 4.5]
	],
	crackS: 540,
	dropS: 660
};

const UNWEIGHED: DrumContext = { chargeG: null, outG: null };

function read(log: RoastLog, context: DrumContext = UNWEIGHED): DrumReading {
	const outcome = readDrum(log, context);
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	return outcome.value;
}

function refusal(log: RoastLog, context: DrumContext = UNWEIGHED): string {
	const outcome = readDrum(log, context);
	if (outcome.ok) throw new Error('was read');
	return outcome.problems.map(({ path, message }) => `${path}: ${message}`).join('\n');
}

function withMarks(log: RoastLog, ...marks: Mark[]): RoastLog {
	return { ...log, marks };
}

function without(log: RoastLog, ...names: Mark['name'][]): RoastLog {
	return { ...log, marks: log.marks.filter((mark) => !names.includes(mark.name)) };
}

/** The log with no bean temperature between two of its times. */
function holed(log: RoastLog, fromS: number, toS: number): RoastLog {
	const beanC = log.channels.beanC!.map((value, i) =>
		log.timeS[i]! > fromS && log.timeS[i]! < toS ? NaN : value
	);
	return { ...log, channels: { ...log.channels, beanC } };
}

function messages(reading: DrumReading): string[] {
	return reading.problems.map((problem) => problem.message);
}

describe('marks', () => {
	const log = madeDrumLog(MADE);

	it('that are given are used, a colour change that is not says how it was found (D1)', () => {
		const { marks } = read(log);
		expect(marks.charge).toMatchObject({ timeS: 0, temperatureC: 200, from: 'marked' });
		expect(marks.firstCrack).toMatchObject({ timeS: 540, from: 'marked' });
		expect(marks.drop).toMatchObject({ timeS: 660, from: 'marked', rorCMin: null });
		expect(marks.colourChange).toMatchObject({ from: 'found' });
		expect(marks.colourChange!.temperatureC).toBeCloseTo(150, 1);
		expect(marks.colourChange!.because).toContain('150 C (common practice, no source)');
		const given = read(withMarks(log, ...log.marks, { name: 'colourChange', timeS: 290 }));
		expect(given.marks.colourChange).toMatchObject({ timeS: 290, from: 'marked' });
	});

	it('never hold a first crack that nobody heard (D1)', () => {
		const reading = read(without(log, 'firstCrackEar'));
		expect(reading.marks.firstCrack).toBeNull();
		expect(reading.phases.development).toBeNull();
		expect(reading.phases.browning).toBeNull();
		expect(reading.developmentRatio).toBeNull();
		expect(reading.phases.drying).not.toBeNull();
	});

	it('find a charge after a time of preheating', () => {
		const preheated = madeDrumLog({ ...MADE, preheatS: 150, scatterC: 0.2 });
		const found = read(without(preheated, 'charge'));
		expect(found.marks.charge.from).toBe('found');
		expect(found.marks.charge.because).toContain('steep fall, from 200 C');
		const marked = read(preheated);
		expect(Math.abs(found.totalS - marked.totalS)).toBeLessThanOrEqual(3);
		expect(found.totalS - found.marks.turningPoint!.timeS).toBeCloseTo(
			marked.totalS - marked.marks.turningPoint!.timeS,
			0
		);
		expect(found.problems).toEqual([]);
	});

	it('take the zero of a log that starts before it for the charge', () => {
		const early = madeDrumLog({ ...MADE, preheatS: 60 });
		const moved: RoastLog = { ...early, timeS: early.timeS.map((t) => t - 60), marks: [] };
		expect(read(moved).marks.charge).toMatchObject({
			timeS: 0,
			from: 'found',
			because: 'the log counts from charge'
		});
	});

	it('take the first row for a charge that shows nowhere, and say so', () => {
		const reading = read(without(madeDrumLog({ ...MADE, startC: 22 }), 'charge'));
		expect(messages(reading)[0]).toContain('the first row is taken for it');
		expect(reading.marks.turningPoint).toBeNull();
		expect(reading.areaCMin).toBeNull();
		expect(reading.probeLagS).toBeNull();
	});

	it('find the drop at the highest temperature before a fall, else at the last row, and say so', () => {
		const last = read(without(log, 'drop'));
		expect(last.marks.drop).toMatchObject({ timeS: 660, from: 'found' });
		expect(messages(last)).toEqual(['the drop is not marked; taken for it: last row of the log']);
		const cooling = madeDrumLog({
			...MADE,
			rates: [...MADE.rates, [661, -120], [720, -120]],
			lagS: 10,
			dropS: 720
		});
		const found = read(without(cooling, 'drop'));
		expect(Math.abs(found.totalS - 660)).toBeLessThan(10);
		expect(messages(found)[0]).toContain('bean temperature is highest');
	});

	it('that contradict the log are set aside by name (D2)', () => {
		const charge: Mark = { name: 'charge', timeS: 0 };
		const drop: Mark = { name: 'drop', timeS: 660 };
		const late = read(withMarks(log, charge, { name: 'firstCrackEar', timeS: 700 }, drop));
		expect(late.marks.firstCrack).toBeNull();
		expect(late.problems).toEqual([
			{
				path: 'firstCrackEar',
				message: 'the mark at 700 s is not between turning point and drop; it is set aside'
			}
		]);
		const swapped = read(
			withMarks(
				log,
				charge,
				{ name: 'firstCrackEar', timeS: 540 },
				{ name: 'colourChange', timeS: 560 },
				drop
			)
		);
		expect(swapped.marks.colourChange!.from).toBe('found');
		expect(swapped.problems[0]!.path).toBe('colourChange');
	});
});

describe('phases and figures', () => {
	const reading = read(
		withMarks(
			madeDrumLog(MADE),
			{ name: 'charge', timeS: 0 },
			{ name: 'colourChange', timeS: 297 },
			{ name: 'firstCrackEar', timeS: 540 },
			{ name: 'drop', timeS: 660 }
		),
		{ chargeG: 12_000, outG: 10_260 }
	);

	it('divide the time from charge to drop', () => {
		expect(reading.phases).toEqual({
			drying: { seconds: 297, share: 0.45 },
			browning: { seconds: 243, share: 243 / 660 },
			development: { seconds: 120, share: 120 / 660 }
		});
		expect(reading.totalS).toBe(660);
		expect([reading.developmentS, reading.developmentRatio]).toEqual([120, 120 / 660]);
		expect(reading.weightLoss).toBeCloseTo(0.145, 12);
	});

	it('carry the method and the inputs used', () => {
		expect(reading.method).toBe('drum-1');
		expect(reading.inputs).toMatchObject({ chargeG: 12_000, outG: 10_260, rows: 661 });
		expect(reading.inputs.rowStepS).toBeCloseTo(1, 9);
		expect(reading.inputs.settings.rorWindowS).toBe(30);
		expect(reading.inputs.smoothing).toContain('rate of rise over 30 s');
	});

	it('have a series on a 1 s grid with no rate in the first and last half window (D3)', () => {
		const { timeS, beanC, rorCMin, exhaustC } = reading.series;
		expect([timeS.length, timeS[0], timeS[660]]).toEqual([661, 0, 660]);
		expect(beanC.every((value) => value !== null)).toBe(true);
		expect(rorCMin.map((value) => value === null)).toEqual(
			timeS.map((t) => t < 15 || t > 660 - 15)
		);
		expect(exhaustC).toBeNull();
	});

	it('count the area from the turning point, above the base of the roaster (D4)', () => {
		const lower = read(madeDrumLog(MADE), { ...UNWEIGHED, settings: { areaBaseC: 20 } });
		const from = reading.marks.turningPoint!.timeS;
		// 20 C lies below the whole curve: the area is the mean above it times the time.
		const above = reading.series.beanC.slice(from).map((value) => value! - 20);
		const mean = above.reduce((sum, value) => sum + value, 0) / above.length;
		expect(lower.areaCMin!).toBeCloseTo((mean * (660 - from)) / 60, 0);
		expect(reading.areaCMin!).toBeLessThan(lower.areaCMin!);
	});

	it('do not depend on how often the log has a row', () => {
		for (const stepS of [2, 5]) {
			const slower = read(madeDrumLog({ ...MADE, stepS }));
			expect(slower.problems).toEqual([]);
			expect(Math.abs(slower.areaCMin! - reading.areaCMin!)).toBeLessThan(1);
			expect(
				Math.abs(slower.marks.firstCrack!.rorCMin! - reading.marks.firstCrack!.rorCMin!)
			).toBeLessThan(0.1);
		}
	});

	it('do not depend on what the log holds before charge and after drop', () => {
		const longer = madeDrumLog({ ...MADE, preheatS: 90, dropS: 720 });
		const inside = withMarks(
			longer,
			{ name: 'charge', timeS: 90 },
			{ name: 'firstCrackEar', timeS: 630 },
			{ name: 'drop', timeS: 750 }
		);
		const plain = read(madeDrumLog(MADE));
		const cut = read(inside);
		expect(cut.areaCMin!).toBeCloseTo(plain.areaCMin!, 6);
		expect(cut.marks.turningPoint).toEqual(plain.marks.turningPoint);
		expect(cut.series.rorCMin.length).toBe(661);
		expect(cut.inputs.rows).toBe(661);
	});

	it('have no weight loss from weights that cannot be', () => {
		for (const outG of [12_001, 0, -5, NaN]) {
			const wrong = read(madeDrumLog(MADE), { chargeG: 12_000, outG });
			expect(wrong.weightLoss).toBeNull();
			expect(wrong.problems.map((problem) => problem.path)).toEqual(['outG']);
		}
		const unweighed = read(madeDrumLog(MADE), { chargeG: 12_000, outG: null });
		expect([unweighed.weightLoss, unweighed.problems]).toEqual([null, []]);
	});
});

describe('logs that lack something', () => {
	const log = madeDrumLog(MADE);

	it('are refused without bean temperature, of another kind, or with their drop first', () => {
		expect(refusal({ ...log, channels: {} })).toContain('beanC: the log has no bean temperature');
		const empty = log.timeS.map(() => NaN);
		expect(refusal({ ...log, channels: { beanC: empty } })).toContain('fewer than two values');
		expect(refusal({ ...log, kind: 'sample' })).toContain('a drum log was expected');
		const none = new Float64Array(0);
		expect(refusal({ ...log, timeS: none, channels: { beanC: none } })).toContain('fewer than two');
		expect(
			refusal(withMarks(log, { name: 'charge', timeS: 500 }, { name: 'drop', timeS: 300 }))
		).toBe('time: the drop comes 200 s before the charge; it was expected after');
	});

	it('are refused when there is no time or no row between charge and drop', () => {
		expect(refusal(madeDrumLog({ ...MADE, dropS: 40 }))).toContain('within 40 s');
		expect(refusal(madeDrumLog({ ...MADE, stepS: 300 }))).toMatch(/^time: 3 rows/);
		expect(
			refusal(withMarks(log, { name: 'charge', timeS: 900 }, { name: 'drop', timeS: 1500 }))
		).toContain('time: 0 rows');
	});

	it('are read with a word when short or slow', () => {
		const short = read(madeDrumLog({ ...MADE, dropS: 200, crackS: 190 }));
		expect(messages(short)[0]).toContain('usually takes 240 s');
		const slow = read(madeDrumLog({ ...MADE, stepS: 10 }));
		expect(messages(slow)[0]).toContain('a row every 10 s');
	});

	it('have no rate of rise in and beside a gap, and a straight line in the area (D3)', () => {
		const reading = read(holed(log, 400, 440));
		expect(messages(reading)).toEqual([
			'no bean temperature from 400 to 440 s; no rate of rise there, and the area takes a straight line'
		]);
		const { beanC, rorCMin } = reading.series;
		const missing = (values: readonly (number | null)[], from: number, to: number) =>
			values.map((value, t) => (value === null ? t : -1)).filter((t) => t >= from && t < to);
		expect([missing(beanC, 0, 661).at(0), missing(beanC, 0, 661).at(-1)]).toEqual([401, 439]);
		const gap = missing(rorCMin, 20, 600);
		expect([gap.at(0), gap.at(-1), gap.length]).toEqual([401 - 15, 439 + 15, 69]);
		expect(Math.abs(reading.areaCMin! - read(log).areaCMin!)).toBeLessThan(2);
	});

	it('are bridged over a few missing rows without a word', () => {
		const reading = read(holed(log, 400, 408));
		expect(reading.problems).toEqual([]);
		expect(reading.series.beanC[404]).not.toBeNull();
	});

	it('say so when they end before the drop', () => {
		const reading = read(holed(log, 600, 1000));
		expect(messages(reading)[0]).toContain('ends 60 s before the drop');
		expect(reading.totalS).toBe(660);
		expect(reading.marks.drop.temperatureC).toBeNull();
		expect(reading.areaCMin).toBeNull();
		expect(reading.series.timeS.at(-1)).toBe(600);
	});

	it('have neither turning point nor fault when flat', () => {
		const flat = read({ ...log, channels: { beanC: log.timeS.map(() => 120) } });
		expect(flat.marks.turningPoint).toBeNull();
		expect(flat.marks.colourChange).toBeNull();
		expect(flat.faults).toEqual([]);
		expect(flat.unchecked.length).toBeGreaterThan(0);
	});

	it('have no turning point from scatter in a probe that only rises, nor from one in a gap', () => {
		for (let seed = 1; seed <= 10; seed++) {
			const rising = madeDrumLog({ ...MADE, startC: 22, scatterC: 1, seed });
			expect(read(rising).marks.turningPoint).toBeNull();
		}
		const turned = read(log).marks.turningPoint!.timeS;
		expect(read(holed(log, turned - 20, turned + 20)).marks.turningPoint).toBeNull();
	});

	it('are refused with settings that are no numbers above nought, all of them named', () => {
		const settings = { rorWindowS: 0, smoothingWindowS: 3, thresholds: { stallForS: NaN } };
		expect(refusal(log, { ...UNWEIGHED, settings }).split('\n')).toEqual([
			'rorWindowS: rorWindowS is 0; a number above 0 was expected',
			'stallForS: stallForS is NaN; a number above 0 was expected',
			'smoothingWindowS: smoothingWindowS is 3 s; at least 4 s was expected'
		]);
	});
});

describe('scatter', () => {
	it('is found in the rows, and carried to the rate of rise', () => {
		// An even spread of half width a has standard deviation a / sqrt 3.
		for (const stepS of [1, 2]) {
			const log = madeDrumLog({ ...MADE, stepS, scatterC: 0.3, seed: 7 });
			const rows = { x: log.timeS, y: log.channels.beanC! };
			expect(scatterC(rows, 90)).toBeGreaterThan(0.9 * (0.3 / Math.sqrt(3)));
			expect(scatterC(rows, 90)).toBeLessThan(1.1 * (0.3 / Math.sqrt(3)));
		}
		const clean = rateOfRise(madeDrumLog(MADE).channels.beanC!, 30);
		const noisy = rateOfRise(madeDrumLog({ ...MADE, scatterC: 0.3 }).channels.beanC!, 30);
		let squares = 0;
		for (let t = 60; t < 640; t++) squares += (noisy[t]! - clean[t]!) ** 2;
		const seen = Math.sqrt(squares / 580);
		const told = read(madeDrumLog({ ...MADE, scatterC: 0.3 })).rorNoiseCMin!;
		expect(told / seen).toBeGreaterThan(0.7);
		expect(told / seen).toBeLessThan(1.4);
	});
	it('is unknown with few rows, and falls with a wider window', () => {
		expect(scatterC({ x: new Float64Array(5), y: new Float64Array(5) }, 0)).toBeNaN();
		expect(rorNoise(0.1, 1, 60)).toBeLessThan(rorNoise(0.1, 1, 30));
	});
});

describe('a setting between rows', () => {
	it('holds until the next row and is unknown before the first', () => {
		const points = { x: Float64Array.of(2, 4), y: Float64Array.of(60, 30) };
		expect([...resampleHold(points, [0, 1, 2, 3, 4, 5])]).toEqual([NaN, NaN, 60, 60, 30, 30]);
	});
});

describe('batches over each other', () => {
	const early = read(madeDrumLog(MADE), { chargeG: 12_000, outG: 10_200 });
	const late = read(madeDrumLog({ ...MADE, crackS: 552, dropS: 680, startC: 240 }), {
		chargeG: 12_000,
		outG: 10_080
	});
	const unheard = read(without(madeDrumLog(MADE), 'firstCrackEar'));

	it('stand at charge, or at the crack where it was heard', () => {
		const [atCharge] = alignAt([early], 'charge');
		expect(atCharge).toEqual({ shiftS: 0, series: early.series });
		const [a, b, none] = alignAt([early, late, unheard], 'crack');
		expect(none).toBeNull();
		expect([a!.shiftS, b!.shiftS]).toEqual([540, 552]);
		expect(a!.series.timeS[540]).toBe(0);
		expect(b!.series.timeS[552]).toBe(0);
		expect(b!.series.beanC).toEqual(late.series.beanC);
	});

	it('differ figure by figure and fault by fault', () => {
		const { rows, faultsGone, faultsNew } = compareOutcomes(early, late);
		const row = (key: string) => rows.find((each) => each.key === key)!;
		expect(row('crackS')).toMatchObject({ prev: 540, next: 552, difference: 12, unit: 's' });
		expect(row('developmentS')).toMatchObject({ prev: 120, next: 128, difference: 8 });
		expect(row('developmentRatio').difference).toBeCloseTo(128 / 680 - 120 / 660, 12);
		expect(row('weightLoss').difference).toBeCloseTo(0.01, 12);
		expect(row('rorAtCrackCMin').difference).toBeLessThan(0);
		expect(row('dropC').difference).toBeGreaterThan(0);
		expect(row('chargeC').difference).toBeCloseTo(40, 6);
		expect([faultsGone, faultsNew]).toEqual([[], ['scorching start']]);
		expect(compareOutcomes(late, early).faultsGone).toEqual(['scorching start']);
		expect(new Set(rows.map((each) => each.key)).size).toBe(rows.length);
	});

	it('have no difference where one lacks the figure or it is another figure', () => {
		const missing = compareOutcomes(early, unheard).rows.find((each) => each.key === 'crackS')!;
		expect(missing).toMatchObject({ prev: 540, next: null, difference: null, because: null });
		const settings = { rorWindowS: 60, areaBaseC: 110 };
		const other = read(madeDrumLog(MADE), { ...UNWEIGHED, settings });
		const { rows } = compareOutcomes(early, other);
		const told = rows.filter((each) => each.because !== null);
		expect(told.map((each) => each.key)).toEqual(['highestRorCMin', 'rorAtCrackCMin', 'areaCMin']);
		expect(told.every((each) => each.difference === null)).toBe(true);
		expect(told[0]!.because).toBe('rates over 30 s and 60 s');
	});

	it('have no fault gone that the next could not be searched for (D6)', () => {
		const crashed = read(
			madeDrumLog({
				...MADE,
				rates: [...MADE.rates.slice(0, 4), [530, 9.5], [550, 2.6], [660, 2.4]],
				crackS: 530
			})
		);
		const noisy = read(madeDrumLog({ ...MADE, scatterC: 3 }));
		expect(crashed.faults.map((fault) => fault.name)).toEqual(['crash']);
		expect(compareOutcomes(crashed, noisy).faultsGone).toEqual([]);
		expect(compareOutcomes(crashed, early).faultsGone).toEqual(['crash']);
		expect(compareOutcomes(noisy, crashed).faultsNew).toEqual([]);
	});
});

describe('simulated batches', () => {
	const params = KIND_PARAMS.natural;
	const settings = {
		chargeG: 12_000,
		startC: 205,
		soakS: 45,
		airSteps: [{ atS: 0, pct: 60 }],
		drumRpm: 50
	};
	const gasSteps = gasStepsFor(params, DRUM_15, settings, usualGoal(params));
	const roast = simulateDrum({
		kind: 'natural',
		seed: 3,
		params,
		settings: { ...settings, gasSteps },
		roaster: DRUM_15
	});
	const reading = read(roast.log, { chargeG: roast.chargeG, outG: roast.outG });

	it('that were set well read without a problem or a fault', () => {
		expect(reading.problems).toEqual([]);
		expect(reading.faults).toEqual([]);
		expect(reading.unchecked).toEqual([]);
		expect(reading.series.gasPct!.every((value) => value !== null)).toBe(true);
		expect(reading.totalS).toBe(roast.truth.dropS);
	});

	it('show the lags of the probe and its sleeve that were put into them', () => {
		// 22 s for the probe of this drum and 9 s for the sleeve; the simulator's beans do not warm evenly.
		expect(Math.abs(reading.probeLagS! - (roast.truth.probeLagS + 9))).toBeLessThan(3);
	});
});
