import { trapezoid } from '../curve/integrate.ts';
import type { Channel, RoastLog } from '../curve/log.ts';
import { presentPoints, resampleLinear } from '../curve/resample.ts';
import { bad, good, type Outcome, type Problem } from '../quantity/problem.ts';
import { drumCurve, resampleHold, rorNoise, scatterC, type DrumCurve } from './curve.ts';
import { findFaults, highestRor, probeLagS } from './faults.ts';
import { drumMarks, phasesOf } from './marks.ts';
import {
	DRUM_METHOD,
	type DrumContext,
	type DrumInputs,
	type DrumMarks,
	type DrumReading,
	type DrumSeries
} from './reading.ts';
import { drumSettings, type DrumSettings } from './settings.ts';
import { roastSpan, type RoastSpan } from './span.ts';

/** A drum roast shorter than this is read, but said to be short; common practice, no source. */
const USUAL_LEAST_S = 240;

/**
 * Reads a drum log. Fails without a bean temperature, without one between charge and drop, when that
 * time holds no two windows of the rate of rise, or on settings that are no numbers above nought.
 */
export function readDrum(log: RoastLog, context: DrumContext): Outcome<DrumReading> {
	const settings = drumSettings(context.settings);
	if (!settings.ok) return settings;
	const unreadable = whyUnreadable(log);
	if (unreadable) return bad(unreadable);
	const span = roastSpan(log);
	const tooShort = whyTooShort(log, span, settings.value);
	if (tooShort) return bad(tooShort);
	return good(readSpan(log, context, settings.value, span));
}

function readSpan(
	log: RoastLog,
	context: DrumContext,
	settings: DrumSettings,
	span: RoastSpan
): DrumReading {
	const curve = drumCurve(log, span.chargeS, span.endS, settings);
	const { marks, problems: markProblems } = drumMarks(log, span, curve, settings);
	const phases = phasesOf(marks);
	const scatter = scatterC(curve.rows, marks.turningPoint?.timeS ?? 0);
	const rorNoiseCMin = rorNoise(scatter, curve.rowStepS, settings.rorWindowS);
	const gasPct = channelOn(log, 'gasPct', span, curve);
	const look = { curve, marks, settings, gasPct, rorNoiseCMin };
	const peak = highestRor(look);
	const weight = weightLossOf(context);
	return {
		method: DRUM_METHOD,
		inputs: inputsOf(context, settings, curve),
		series: seriesOf(log, span, curve, gasPct),
		marks,
		phases,
		totalS: marks.drop.timeS,
		developmentS: phases.development?.seconds ?? null,
		developmentRatio: phases.development?.share ?? null,
		areaCMin: areaOf(curve, marks, settings.areaBaseC),
		highestRorCMin: peak === null ? null : curve.rorCMin[peak]!,
		probeLagS: probeLagS(curve, marks, settings.greenC),
		weightLoss: weight.loss,
		rorNoiseCMin: orNull(rorNoiseCMin),
		...findFaults(look),
		problems: [
			...span.problems,
			...curveProblems(curve, marks, settings),
			...markProblems,
			...weight.problems
		]
	};
}

function whyUnreadable(log: RoastLog): Problem | null {
	if (log.kind !== 'drum') {
		return { path: 'kind', message: `this is a ${log.kind} log; a drum log was expected` };
	}
	const beanC = log.channels.beanC;
	if (beanC === undefined) {
		const message = 'the log has no bean temperature; a drum log is read from it';
		return { path: 'beanC', message };
	}
	if (presentPoints(log.timeS, beanC).x.length >= 2) return null;
	return { path: 'beanC', message: 'the bean temperature has fewer than two values' };
}

function whyTooShort(log: RoastLog, span: RoastSpan, settings: DrumSettings): Problem | null {
	const path = 'time';
	const totalS = span.dropS - span.chargeS;
	if (!(totalS > 0)) {
		return {
			path,
			message: `the drop comes ${-totalS} s before the charge; it was expected after`
		};
	}
	const readS = span.endS - span.chargeS;
	const leastS = 2 * settings.rorWindowS;
	const rows = presentPoints(log.timeS, log.channels.beanC!).x.filter(
		(x) => x >= span.chargeS && x <= span.endS
	).length;
	if (readS >= leastS && rows >= 5) return null;
	const message = `${rows} rows with a bean temperature within ${Math.max(0, Math.round(readS))} s between charge and drop; at least 5 within ${leastS} s were expected`;
	return { path, message };
}

function curveProblems(curve: DrumCurve, marks: DrumMarks, settings: DrumSettings): Problem[] {
	const problems: Problem[] = [];
	if (marks.drop.timeS < USUAL_LEAST_S) {
		const message = `${Math.round(marks.drop.timeS)} s from charge to drop; a drum roast usually takes ${USUAL_LEAST_S} s or more`;
		problems.push({ path: 'time', message });
	}
	for (const [fromS, toS] of curve.gaps) {
		const message = `no bean temperature from ${Math.round(fromS)} to ${Math.round(toS)} s; no rate of rise there, and the area takes a straight line`;
		problems.push({ path: 'beanC', message });
	}
	if (curve.rowStepS > settings.rorWindowS / 4) {
		const message = `a row every ${curve.rowStepS} s; a rate of rise over ${settings.rorWindowS} s expects one every ${settings.rorWindowS / 4} s or sooner`;
		problems.push({ path: 'time', message });
	}
	return problems;
}

/** Area between the smoothed bean curve and the base, turning point to drop, C min (D4). */
function areaOf(curve: DrumCurve, marks: DrumMarks, baseC: number): number | null {
	if (marks.turningPoint === null) return null;
	const from = Math.ceil(marks.turningPoint.timeS);
	const { x, y } = presentPoints(curve.timeS.subarray(from), curve.smoothC.subarray(from));
	if (x.length < 2 || marks.drop.timeS - x.at(-1)! > 2) return null;
	const above = y.map((value) => Math.max(0, value - baseC));
	return trapezoid(x, above) / 60;
}

/** Share of the charge that left with water, gas and chaff. */
function weightLossOf({ chargeG, outG }: DrumContext): {
	readonly loss: number | null;
	readonly problems: readonly Problem[];
} {
	if (chargeG === null || outG === null) return { loss: null, problems: [] };
	if (chargeG > 0 && outG > 0 && outG <= chargeG) {
		return { loss: (chargeG - outG) / chargeG, problems: [] };
	}
	const message = `${outG} g came out of ${chargeG} g; a weight above 0 and not above the charge was expected`;
	return { loss: null, problems: [{ path: 'outG', message }] };
}

function inputsOf(context: DrumContext, settings: DrumSettings, curve: DrumCurve): DrumInputs {
	return {
		chargeG: context.chargeG,
		outG: context.outG,
		settings,
		rows: curve.rows.x.length,
		rowStepS: curve.rowStepS,
		smoothing: `least-squares parabolas on a 1 s grid: temperatures at marks over ${settings.smoothingWindowS} s, rate of rise over ${settings.rorWindowS} s with none in the first and last half window`
	};
}

function seriesOf(
	log: RoastLog,
	span: RoastSpan,
	curve: DrumCurve,
	gasPct: Float64Array | null
): DrumSeries {
	const column = (values: Float64Array | null) => values && Array.from(values, orNull);
	return {
		timeS: [...curve.timeS],
		beanC: Array.from(curve.beanC, orNull),
		rorCMin: Array.from(curve.rorCMin, orNull),
		exhaustC: column(channelOn(log, 'exhaustC', span, curve)),
		inletC: column(channelOn(log, 'inletC', span, curve)),
		drumC: column(channelOn(log, 'drumC', span, curve)),
		gasPct: column(gasPct),
		airPct: column(channelOn(log, 'airPct', span, curve)),
		drumRpm: column(channelOn(log, 'drumRpm', span, curve))
	};
}

/** A channel on the curve's grid: settings hold, temperatures go straight; null if it has no value. */
function channelOn(
	log: RoastLog,
	channel: Channel,
	span: RoastSpan,
	curve: DrumCurve
): Float64Array | null {
	const values = log.channels[channel];
	if (values === undefined) return null;
	const points = presentPoints(log.timeS, values);
	if (points.x.length === 0) return null;
	const fromCharge = { x: points.x.map((x) => x - span.chargeS), y: points.y };
	return channel.endsWith('Pct') || channel === 'drumRpm'
		? resampleHold(fromCharge, curve.timeS)
		: resampleLinear(fromCharge.x, fromCharge.y, curve.timeS);
}

function orNull(value: number): number | null {
	return Number.isFinite(value) ? value : null;
}
