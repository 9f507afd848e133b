/**
 * The reading of a sample roast, from its log and what is known beside it: humidity -> humidity ratio
 * -> release -> first crack -> shares, development, balance. Every step says what limits it.
 */
import { cumulativeTrapezoid } from '../curve/integrate.ts';
import type { RoastLog } from '../curve/log.ts';
import { savgolFilter } from '../curve/smooth.ts';
import type { Outcome } from '../quantity/problem.ts';
import { bad, good } from '../quantity/problem.ts';
import { balanceFindings, waterBalance } from './balance.ts';
import {
	contextProblems,
	gapFinding,
	logFindings,
	logProblems,
	pressureOf,
	weightLossOf
} from './context.ts';
import { addedByUnitDrift, driftFindings, driftOf, HUMIDITY_UNITS, type Drift } from './drift.ts';
import { EARLIER_PER_LAG, readCrack, type CrackCurve, type CrackFound } from './crack.ts';
import { figure, finding, surenessAfter, worstFirst, type Finding } from './finding.ts';
import { airFlowOf, type AirFlow } from './flow.ts';
import { dropTimeS, gridOf, onGrid, untilDrop } from './grid.ts';
import { absoluteFromRatio, humidityOf, type HumidityColumn } from './humidity.ts';
import { sensorLag, type SensorLag } from './lagEstimate.ts';
import { releaseOf, type Release } from './rate.ts';
import {
	READING_METHOD,
	type ReadingContext,
	type ReadingInputs,
	type ReadingSeries,
	type SampleReading,
	type WaterBalance
} from './reading.ts';
import { roomAir, type RoomAir } from './room.ts';
import { shareBounds, sharesOf, valueAt } from './shares.ts';

/** Relative-humidity noise above which the signal is too noisy, points. */
const NOISY_RH_PCT = 0.3;
/** The same for other humidity channels, as a share of the highest release. */
const NOISY_SHARE = 0.05;
/** Bean temperature is smoothed over this many seconds before anything is read off it. */
const TEMPERATURE_WINDOW_S = 21;

/**
 * Reads a sample roast. A log without humidity, out of order, too short or mostly impossible, and
 * inputs that would spoil every figure, are problems; everything else that limits the reading is said
 * in it.
 */
export function readSample(log: RoastLog, context: ReadingContext): Outcome<SampleReading> {
	const wrong = [...logProblems(log), ...contextProblems(context)];
	if (wrong.length > 0) return bad(...wrong);
	const roast = untilDrop(log);
	const pressure = pressureOf(context);
	const humidity = humidityOf(roast, pressure.pressurePa);
	if (!humidity.ok) return humidity;
	const work = workOut(roast, context, humidity.value, pressure.pressurePa);
	const { room, lag } = work;
	const drift = driftOf(log, humidity.value, room, lag.lagS, pressure.pressurePa);
	if (!(work.cumulativeGKg.at(-1)! > 0)) {
		const message =
			'The exhaust never carries more water than the room air; expected a rise of humidity through the roast.';
		return bad({ path: humidity.value.from, message });
	}
	const known = { ...work, ...pressure, humidity: humidity.value, drift };
	return good(readingOf(roast, context, known));
}

interface Work {
	readonly grid: Float64Array;
	readonly room: RoomAir;
	readonly ratioGKg: Float64Array;
	readonly beanC: Float64Array | null;
	readonly exhaustC: Float64Array | null;
	readonly flow: AirFlow;
	readonly lag: SensorLag;
	readonly release: Release;
	/** Area under the release up to each place. */
	readonly cumulativeGKg: Float64Array;
	readonly found: CrackFound;
	/** Smoothed bean temperature, else exhaust. */
	readonly temperatureC: Float64Array | null;
	readonly findings: readonly Finding[];
}

type Known = Work &
	Pick<ReadingInputs, 'pressurePa' | 'pressureFrom'> & {
		readonly humidity: HumidityColumn;
		readonly drift: Drift | null;
	};

/** From humidity to release and crack. */
function workOut(
	log: RoastLog,
	context: ReadingContext,
	humidity: HumidityColumn,
	pressurePa: number
): Work {
	const grid = gridOf(log);
	const room = roomAir(log, humidity, context.roomHumidityGKg, pressurePa);
	const ratioGKg = onGrid(log.timeS, room.ratioGKg, grid)!;
	const channel = (name: 'beanC' | 'exhaustC') =>
		log.channels[name] ? onGrid(log.timeS, log.channels[name], grid) : null;
	const beanC = channel('beanC');
	const exhaustC = channel('exhaustC');
	const measured = beanC ?? exhaustC;
	const temperatureC = measured && smoothed(measured);
	const flow = airFlowOf(log, grid, context.airFlowGS);
	const excess = new Float64Array(grid.length);
	for (let i = 0; i < grid.length; i++) excess[i] = ratioGKg[i]! - room.roomGKg;
	const lag = sensorLag(context.sensorLagS, excess, flow.factor, Math.round(0.6 * grid.length));
	const release = releaseOf(excess, flow.factor, lag.lagS);
	const cumulativeGKg = cumulativeTrapezoid(grid, release.trueGKg);
	const curve: CrackCurve = {
		timeS: grid,
		shown: release.shownGKg,
		released: release.trueGKg,
		noise: release.noiseGKg,
		temperatureC,
		temperatureFrom: beanC ? 'bean' : exhaustC ? 'exhaust' : null,
		lag
	};
	const found = readCrack(curve);
	const findings = [
		...logFindings(log),
		...humidity.findings,
		...gapFinding(humidity.from, log.timeS, humidity.ratioGKg),
		...room.findings,
		...flow.findings,
		...lagFindings(lag),
		...noiseFindings(humidity, release)
	];
	const read = {
		grid,
		room,
		ratioGKg,
		beanC,
		exhaustC,
		temperatureC,
		flow,
		lag,
		release,
		cumulativeGKg
	};
	return { ...read, found, findings };
}

/** Puts the figures together. */
function readingOf(log: RoastLog, context: ReadingContext, known: Known): SampleReading {
	const { grid, flow, found, cumulativeGKg } = known;
	const gramsPerUnit = flow.atChargeGS === null ? null : flow.atChargeGS / 1000;
	const scale = gramsPerUnit ?? 1 / cumulativeGKg.at(-1)!;
	const releasedG = gramsPerUnit === null ? null : gramsPerUnit * cumulativeGKg.at(-1)!;
	const weight = weightLossOf(context.chargeG, context.outG);
	const balance =
		weight.loss === null
			? null
			: waterBalance(releasedG, context.chargeG, context.outG, context.greenMoisturePct);
	const bounds = shareBounds(grid, found.crack, known.beanC && known.temperatureC);
	const dropS = dropTimeS(log);
	const earCrackS = log.marks.find((mark) => mark.name === 'firstCrackEar')?.timeS ?? null;
	const development = developmentOf(found.crack.onsetS, earCrackS, dropS);
	const findings = [
		...known.findings,
		...weight.findings,
		...driftAndBalance(log, known, balance, context.outG),
		...development.findings
	];
	return {
		method: READING_METHOD,
		inputs: inputsOf(context, known, earCrackS),
		rateUnit: gramsPerUnit === null ? 'relative' : 'g/s',
		series: seriesOf(log, known, scale),
		crack: found.crack,
		shares: sharesOf(grid, cumulativeGKg, bounds),
		shareBoundsS: bounds,
		developmentS: development.seconds,
		developmentRatio: development.seconds === null ? null : development.seconds / dropS,
		dropS,
		dropTemperatureC: known.beanC && valueAt(grid, known.temperatureC!, dropS),
		weightLoss: weight.loss,
		waterReleasedG: releasedG,
		balance,
		problems: worstFirst(findings),
		sureness: surenessAfter(findings)
	};
}

/** What the air after the drop says of the sensor, and the balance; how much a drift weighs is worked out
 * only where one of them has something to say. */
function driftAndBalance(
	log: RoastLog,
	{ humidity, drift, flow, grid, cumulativeGKg, pressurePa }: Known,
	balance: WaterBalance | null,
	outG: number | null
): Finding[] {
	if (drift === null && (balance === null || balance.closes)) return [];
	const added = onGrid(log.timeS, addedByUnitDrift(log, humidity, pressurePa), grid)!;
	for (let i = 0; i < added.length; i++) added[i]! *= flow.factor[i]!;
	const unitGKg = cumulativeTrapezoid(grid, added).at(-1)!;
	const unit = HUMIDITY_UNITS[humidity.from];
	const unitDrift =
		flow.atChargeGS === null ? null : { unit, addsG: (flow.atChargeGS / 1000) * unitGKg };
	return [
		...driftFindings(drift, unitGKg / cumulativeGKg.at(-1)!),
		...balanceFindings(balance, outG, unitDrift)
	];
}

/** Development from crack onset to drop; from the crack heard by ear where none was found. */
function developmentOf(onsetS: number | null, earCrackS: number | null, dropS: number) {
	const from = onsetS ?? earCrackS;
	if (from === null || from > dropS) return { seconds: null, findings: [] };
	const message = `No crack was found on the curve: development is counted from the crack heard at ${figure(from)} s.`;
	const findings = onsetS === null ? [finding('crack', message, 0.05)] : [];
	return { seconds: dropS - from, findings };
}

function inputsOf(context: ReadingContext, known: Known, earCrackS: number | null): ReadingInputs {
	return {
		pressurePa: known.pressurePa,
		pressureFrom: known.pressureFrom,
		airFlowGS: known.flow.atChargeGS,
		sensorLagS: known.lag.lagS,
		sensorLagFrom: known.lag.from,
		humidityFrom: known.humidity.from,
		humidityTemperatureFrom:
			known.humidity.from === 'humidityRatioGKg' ? null : known.humidity.temperatureFrom,
		chargeG: context.chargeG,
		outG: context.outG,
		greenMoisturePct: context.greenMoisturePct,
		earCrackS
	};
}

function seriesOf(log: RoastLog, known: Known, scale: number): ReadingSeries {
	const { grid, release, found, humidity } = known;
	const temperatures = humidity.temperatureFrom && log.channels[humidity.temperatureFrom];
	const atSensorC = temperatures ? onGrid(log.timeS, temperatures, grid) : null;
	return {
		timeS: listOf(grid),
		rate: listOf(release.trueGKg, (value) => scale * value),
		baseRate: listOf(release.trueGKg, (value, i) => scale * (value - found.burst[i]!)),
		humidityRatioGKg: listOf(known.ratioGKg),
		absoluteHumidityGM3:
			atSensorC && listOf(absoluteFromRatio(known.ratioGKg, atSensorC, known.pressurePa)),
		beanC: known.beanC && listOf(known.beanC),
		exhaustC: known.exhaustC && listOf(known.exhaustC)
	};
}

/** A plain list of a column; a loop, since Array.from walks an iterator and is many times slower. */
function listOf(
	values: Float64Array,
	change: (value: number, i: number) => number = (value) => value
): number[] {
	const list = new Array<number>(values.length);
	for (let i = 0; i < values.length; i++) list[i] = change(values[i]!, i);
	return list;
}

function smoothed(values: Float64Array): Float64Array {
	return savgolFilter(values, { points: TEMPERATURE_WINDOW_S, order: 2 });
}

function lagFindings(lag: SensorLag): Finding[] {
	if (lag.from === 'given') return [];
	const how =
		lag.from === 'estimated'
			? `is estimated from a step of the air, give or take ${figure(lag.errorS)} s`
			: 'is not given and is assumed';
	const message = `The humidity sensor's lag of ${figure(lag.lagS)} s ${how}: each second that it is longer puts the crack ${EARLIER_PER_LAG} s earlier.`;
	return [finding('sensorLagS', message, lag.from === 'estimated' ? 0.05 : 0.15)];
}

function noiseFindings(humidity: HumidityColumn, release: Release): Finding[] {
	if (humidity.from === 'humidityRhPct') {
		if (!(humidity.noise > NOISY_RH_PCT)) return [];
		const message = `Signal too noisy: ${figure(humidity.noise)} points of relative humidity from row to row; expected ${NOISY_RH_PCT} or less.`;
		return [finding(humidity.from, message, 0.4)];
	}
	const share = release.noiseGKg / release.peakGKg;
	if (!(share > NOISY_SHARE)) return [];
	const message = `Signal too noisy: ${figure(100 * share)} % of the highest release from row to row; expected ${100 * NOISY_SHARE} % or less.`;
	return [finding(humidity.from, message, 0.4)];
}
