import type { MarkName, RoastLog } from '../curve/log.ts';
import { evenGrid, presentPoints, resampleLinear } from '../curve/resample.ts';
import { savgolFilter } from '../curve/smooth.ts';
import type { Problem } from '../quantity/problem.ts';

/** When the batch was in the drum, in the log's own seconds, and how that is known. */
export interface RoastSpan {
	readonly chargeS: number;
	readonly charge: { readonly from: 'marked' | 'found'; readonly because: string };
	readonly dropS: number;
	readonly drop: { readonly from: 'marked' | 'found'; readonly because: string };
	/** The last second with a bean temperature, not after the drop. */
	readonly endS: number;
	readonly problems: readonly Problem[];
}

/** A probe that falls faster than this, C/min, and rises by this much, C, afterwards saw a charge. */
const CHARGE_FALL_C_MIN = -20;
const CHARGE_RISE_C = 50;
/** The fall after the drop that tells the drop from the last row, C. */
const DROP_FALL_C = 5;

/** Seconds of the first mark of that name, or null. */
export function markAt(log: RoastLog, name: MarkName): number | null {
	return log.marks.find((mark) => mark.name === name && Number.isFinite(mark.timeS))?.timeS ?? null;
}

/** Charge and drop, marked or found (D1). The log has at least one bean temperature. */
export function roastSpan(log: RoastLog): RoastSpan {
	const course = wholeCourse(log);
	const problems: Problem[] = [];
	const charge = chargeOf(log, course, problems);
	const drop = dropOf(log, course, charge.timeS, problems);
	const lastS = course.timeS.at(-1)!;
	if (lastS < drop.timeS - 2) {
		const message = `bean temperature ends ${Math.round(drop.timeS - lastS)} s before the drop; the last part is not read`;
		problems.push({ path: 'beanC', message });
	}
	return {
		chargeS: charge.timeS,
		charge,
		dropS: drop.timeS,
		drop,
		endS: Math.min(lastS, drop.timeS),
		problems
	};
}

interface Course {
	readonly timeS: Float64Array;
	readonly beanC: Float64Array;
	/** Over 9 s, C/min. */
	readonly slopeCMin: Float64Array;
}

interface FoundTime {
	readonly timeS: number;
	readonly from: 'marked' | 'found';
	readonly because: string;
}

/** The whole log on a 1 s grid, gaps bridged by straight lines: good enough to find its ends. */
function wholeCourse(log: RoastLog): Course {
	const rows = presentPoints(log.timeS, log.channels.beanC ?? []);
	const timeS = evenGrid(rows.x[0]!, rows.x.at(-1)!, 1);
	const beanC = resampleLinear(rows.x, rows.y, timeS);
	const slopeCMin = savgolFilter(beanC, { points: 9, order: 2, derivative: 1, step: 1 / 60 });
	return { timeS, beanC, slopeCMin };
}

function chargeOf(log: RoastLog, course: Course, problems: Problem[]): FoundTime {
	const marked = markAt(log, 'charge');
	if (marked !== null) return { timeS: marked, from: 'marked', because: 'marked in the log' };
	if (log.timeS[0]! < 0) return { timeS: 0, from: 'found', because: 'the log counts from charge' };
	const place = chargePlace(course);
	if (place === null) {
		problems.push({
			path: 'charge',
			message:
				'charge is not marked and the bean temperature never falls as at a charge; the first row is taken for it'
		});
		return { timeS: course.timeS[0]!, from: 'found', because: 'first row of the log' };
	}
	const because = `bean temperature begins its steep fall, from ${course.beanC[place]!.toFixed(0)} C`;
	return { timeS: course.timeS[place]!, from: 'found', because };
}

/** Where the steepest fall that a long rise follows begins; null when there is none. */
function chargePlace({ beanC, slopeCMin }: Course): number | null {
	const highestAfter = Float64Array.from(beanC);
	for (let i = beanC.length - 2; i >= 0; i--) {
		highestAfter[i] = Math.max(highestAfter[i]!, highestAfter[i + 1]!);
	}
	let steepest: number | null = null;
	for (let i = 0; i < beanC.length; i++) {
		if (!(slopeCMin[i]! < (steepest === null ? CHARGE_FALL_C_MIN : slopeCMin[steepest]!))) continue;
		const low = lowestWithin(beanC, i, 180);
		if (highestAfter[low]! - beanC[low]! >= CHARGE_RISE_C) steepest = i;
	}
	if (steepest === null) return null;
	let start = steepest;
	while (start > 0 && slopeCMin[start - 1]! < 0.2 * slopeCMin[steepest]!) start--;
	return start;
}

function lowestWithin(values: Float64Array, from: number, places: number): number {
	let lowest = from;
	for (let i = from; i < values.length && i <= from + places; i++) {
		if (values[i]! < values[lowest]!) lowest = i;
	}
	return lowest;
}

function dropOf(log: RoastLog, course: Course, chargeS: number, problems: Problem[]): FoundTime {
	const marked = markAt(log, 'drop');
	if (marked !== null) return { timeS: marked, from: 'marked', because: 'marked in the log' };
	const { timeS, beanC } = course;
	let highest = beanC.length - 1;
	const half = (chargeS + timeS.at(-1)!) / 2;
	for (let i = highest; i >= 0 && timeS[i]! >= half; i--) {
		if (beanC[i]! > beanC[highest]!) highest = i;
	}
	const fallC = beanC[highest]! - beanC.at(-1)!;
	const falls = fallC >= DROP_FALL_C;
	const because = falls
		? `bean temperature is highest, ${fallC.toFixed(0)} C above the last row`
		: 'last row of the log';
	problems.push({
		path: 'drop',
		message: `the drop is not marked; taken for it: ${because}`
	});
	return { timeS: falls ? timeS[highest]! : timeS.at(-1)!, from: 'found', because };
}
