import type { MarkName, RoastLog } from '../curve/log.ts';
import type { Problem } from '../quantity/problem.ts';
import type { DrumCurve } from './curve.ts';
import type { DrumMark, DrumMarks, DrumPhase, DrumPhases } from './reading.ts';
import type { DrumSettings } from './settings.ts';
import { markAt, type RoastSpan } from './span.ts';

/** All marks of the batch in seconds from charge, and what was wrong with those in the log (D1, D2). */
export function drumMarks(
	log: RoastLog,
	span: RoastSpan,
	curve: DrumCurve,
	settings: DrumSettings
): { readonly marks: DrumMarks; readonly problems: readonly Problem[] } {
	const problems: Problem[] = [];
	const dropS = span.dropS - span.chargeS;
	const turningPoint = turningPointOf(curve, settings, problems);
	const afterS = turningPoint?.timeS ?? 0;
	const given = (name: MarkName, untilS: number, between: string): number | null => {
		const logS = markAt(log, name);
		if (logS === null) return null;
		const timeS = logS - span.chargeS;
		if (timeS > afterS && timeS < untilS) return timeS;
		const message = `the mark at ${timeS.toFixed(0)} s is not between ${between}; it is set aside`;
		problems.push({ path: name, message });
		return null;
	};
	const crackS = given('firstCrackEar', dropS, 'turning point and drop');
	const firstCrack =
		crackS === null ? null : markFrom(curve, crackS, 'marked', 'heard and marked in the log');
	const colourS = given('colourChange', crackS ?? dropS, 'turning point and first crack or drop');
	const colourChange =
		colourS === null
			? colourChangeByTemperature(curve, afterS, crackS ?? dropS, settings)
			: markFrom(curve, colourS, 'marked', 'marked in the log');
	const charge = {
		...markFrom(curve, 0, span.charge.from, span.charge.because),
		temperatureC: known(curve.beanC[0])
	};
	const drop = markFrom(curve, dropS, span.drop.from, span.drop.because);
	return { marks: { charge, turningPoint, colourChange, firstCrack, drop }, problems };
}

/** A turning point lies at least so far below the curve on either side, C. */
const TURN_C = 5;

/** The lowest smoothed bean temperature, where the curve has come down to it and gone up from it. */
function turningPointOf(
	curve: DrumCurve,
	settings: DrumSettings,
	problems: Problem[]
): DrumMark | null {
	const { smoothC } = curve;
	let lowest = -1;
	for (let i = 0; i < smoothC.length; i++) {
		if (smoothC[i]! < (lowest < 0 ? Infinity : smoothC[lowest]!)) lowest = i;
	}
	const isSeen = Number.isFinite(smoothC[lowest - 1]! + smoothC[lowest + 1]!);
	const goesAbove = (side: Float64Array) =>
		side.some((value) => value >= smoothC[lowest]! + TURN_C);
	if (isSeen && goesAbove(smoothC.subarray(0, lowest)) && goesAbove(smoothC.subarray(lowest + 1))) {
		const because = `lowest bean temperature, smoothed over ${settings.smoothingWindowS} s`;
		return markFrom(curve, lowest, 'found', because);
	}
	const message = 'the bean temperature does not fall and rise again; there is no turning point';
	problems.push({ path: 'turning point', message });
	return null;
}

/** The first moment after the turning point at which the smoothed beans reach the set temperature. */
function colourChangeByTemperature(
	curve: DrumCurve,
	afterS: number,
	beforeS: number,
	{ colourChangeC }: DrumSettings
): DrumMark | null {
	const timeS = passing(curve.smoothC, colourChangeC, afterS);
	if (timeS === null || timeS >= beforeS) return null;
	const because = `not marked; bean temperature passes ${colourChangeC} C (common practice, no source)`;
	return markFrom(curve, timeS, 'found', because);
}

/** First second after `afterS`, in fractions, at which the values rise through `level`. */
export function passing(values: Float64Array, level: number, afterS: number): number | null {
	for (let i = Math.max(1, Math.ceil(afterS)); i < values.length; i++) {
		const before = values[i - 1]!;
		if (before < level && values[i]! >= level) {
			return i - 1 + (level - before) / (values[i]! - before);
		}
	}
	return null;
}

function markFrom(
	curve: DrumCurve,
	timeS: number,
	from: 'marked' | 'found',
	because: string
): DrumMark {
	return {
		timeS,
		temperatureC: valueAt(curve.smoothC, timeS) ?? valueAt(curve.beanC, timeS),
		rorCMin: valueAt(curve.rorCMin, timeS),
		from,
		because
	};
}

/** A value of the 1 s grid by a straight line between its seconds; null where there is none. */
export function valueAt(values: Float64Array, timeS: number): number | null {
	const left = Math.floor(timeS);
	const share = timeS - left;
	if (share === 0) return known(values[left]);
	return known(values[left]! + share * (values[left + 1]! - values[left]!));
}

function known(value: number | undefined): number | null {
	return value !== undefined && Number.isFinite(value) ? value : null;
}

/** The three phases between the marks; their shares are of the time from charge to drop. */
export function phasesOf(marks: DrumMarks): DrumPhases {
	const between = (from: DrumMark | null, to: DrumMark | null): DrumPhase | null => {
		if (from === null || to === null) return null;
		const seconds = to.timeS - from.timeS;
		return { seconds, share: seconds / marks.drop.timeS };
	};
	return {
		drying: between(marks.charge, marks.colourChange),
		browning: between(marks.colourChange, marks.firstCrack),
		development: between(marks.firstCrack, marks.drop)
	};
}
