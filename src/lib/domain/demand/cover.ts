import { formatKg } from '../quantity/mass.ts';
import type { Day, IsoWeek } from '../quantity/time.ts';
import {
	addDays,
	addWeeks,
	daysBetween,
	weekOf,
	weekdayOf,
	weeksBetween
} from '../quantity/week.ts';
import type { WeeklyGreen } from './explosion.ts';

/**
 * How long a lot's stock lasts.
 * 1. A week's need is spread evenly over its seven days; of the week that has begun only the days from
 *    today on are counted.
 * 2. What is expected counts from the morning of its day; what is overdue does not count, and is said.
 * 3. The run-out day is the first whose need can't be met in full.
 * 4. Beyond the weeks with known demand the mean of the last known weeks is carried on, and said. A lot
 *    that takes over from another is asked for what that one can't give: its weeks are given.
 */

/** Known weeks whose mean is carried on; common practice, no source. */
export const CARRIED_WEEKS = 4;
/** How far ahead a run-out is looked for. */
const LONGEST_DAYS = 730;

export interface StockFacts {
	readonly today: Day;
	readonly onHandG: number;
	readonly arrivals: readonly { readonly day: Day; readonly greenG: number }[];
	/** Green need by week; a known week that is not here needs nothing. */
	readonly needs: readonly WeeklyGreen[];
	/** First and last week for which demand is known at all; null when there is none. */
	readonly known: { readonly from: IsoWeek; readonly to: IsoWeek } | null;
	/** What is asked in the weeks after the known ones, in order, the last of them from then on. */
	readonly later?: readonly WeeklyGreen[];
}

export interface StockCover {
	/** Null when the stock outlasts everything asked of it, or nothing is asked. */
	readonly runOutDay: Day | null;
	/** Whole days from today whose need is met; null when there is no run-out day. */
	readonly coverDays: number | null;
	/** Whether the run-out lies beyond the known demand and so rests on the carried mean. */
	readonly isBeyondKnown: boolean;
	/** What is carried on beyond the known demand, g green per week. */
	readonly carriedGPerWeek: number;
	/** How it was worked out, data first. */
	readonly how: readonly string[];
}

/** The cover of one lot. */
export function stockCover(facts: StockFacts): StockCover {
	const carried = carriedNeed(facts);
	const coverDays = daysCovered(facts, carried);
	const runOutDay = coverDays === null ? null : addDays(facts.today, coverDays);
	const isBeyondKnown =
		runOutDay !== null && facts.known !== null && weekOf(runOutDay) > facts.known.to;
	return {
		runOutDay,
		coverDays,
		isBeyondKnown,
		carriedGPerWeek: carried.sumG / carried.weeks,
		how: [
			stockText(facts),
			needText(facts, carried),
			...carriedText(facts, carried, isBeyondKnown),
			endText(facts, runOutDay, carried)
		]
	};
}

/** The need of the last known weeks together, and how many they are. */
interface Carried {
	readonly sumG: number;
	readonly weeks: number;
}

function carriedNeed({ needs, known }: StockFacts): Carried {
	if (known === null) return { sumG: 0, weeks: 1 };
	const weeks = Math.max(1, Math.min(CARRIED_WEEKS, weeksBetween(known.from, known.to) + 1));
	const first = addWeeks(known.to, 1 - weeks);
	const sumG = needs
		.filter(({ week }) => week >= first && week <= known.to)
		.reduce((sum, { greenG }) => sum + greenG, 0);
	return { sumG, weeks };
}

/**
 * Counts in sevenths of a gram over the carried weeks, so that every day's need is a whole number and the
 * day on which the stock is used up exactly is never missed by rounding.
 */
function daysCovered(facts: StockFacts, carried: Carried): number | null {
	const { today, onHandG, arrivals, needs, known } = facts;
	const unit = 7 * carried.weeks;
	const arriving = new Map<number, number>();
	for (const { day, greenG } of arrivals.filter((one) => one.day >= today)) {
		const ahead = daysBetween(today, day);
		arriving.set(ahead, (arriving.get(ahead) ?? 0) + greenG * unit);
	}
	const thisWeek = weekOf(today);
	const needAhead = new Map(
		needs.map(({ week, greenG }) => [weeksBetween(thisWeek, week), greenG * carried.weeks])
	);
	const lastKnown = known === null ? -1 : weeksBetween(thisWeek, known.to);
	const later = facts.later?.map(({ greenG }) => greenG * carried.weeks);
	const beyond = (week: number) =>
		later ? (later[Math.min(week - lastKnown, later.length) - 1] ?? 0) : carried.sumG;
	const weekday = weekdayOf(today);
	let left = onHandG * unit;
	for (let ahead = 0; ahead < LONGEST_DAYS; ahead += 1) {
		const week = Math.floor((weekday - 1 + ahead) / 7);
		left += arriving.get(ahead) ?? 0;
		left -= week <= lastKnown ? (needAhead.get(week) ?? 0) : beyond(week);
		if (left < 0) return ahead;
	}
	return null;
}

function stockText({ today, onHandG, arrivals }: StockFacts): string {
	const expected = arrivals.map(({ day, greenG }) =>
		day >= today
			? `, ${formatKg(greenG)} expected ${day}`
			: `, ${formatKg(greenG)} overdue since ${day} and not counted`
	);
	return `${formatKg(onHandG)} on hand ${today}${expected.join('')}.`;
}

function needText({ today, needs, known }: StockFacts, carried: Carried): string {
	if (known === null) return 'No demand is known.';
	const ahead = needs.filter(({ week, greenG }) => week >= weekOf(today) && greenG > 0);
	if (ahead.length === 0 && carried.sumG === 0) {
		return `No product asks for it up to ${known.to}.`;
	}
	if (ahead.length === 0) return `No need is known from ${weekOf(today)} on.`;
	const [first, last] = [ahead[0]!, ahead.at(-1)!];
	const sumG = ahead.reduce((sum, { greenG }) => sum + greenG, 0);
	const span = first === last ? `in ${first.week}` : `from ${first.week} to ${last.week}`;
	return `${formatKg(sumG)} needed ${span}, each week spread evenly over its seven days.`;
}

function carriedText(
	{ known, later }: StockFacts,
	carried: Carried,
	isBeyondKnown: boolean
): readonly string[] {
	if (!isBeyondKnown || known === null) return [];
	if (later)
		return [
			`Demand is known up to ${known.to} and carried on from then; of that it is asked for what the lots before it can't give.`
		];
	const perWeek = formatKg(Math.round(carried.sumG / carried.weeks));
	const weeks =
		carried.weeks === 1 ? 'its last week' : `the mean of its last ${carried.weeks} weeks`;
	return [
		`Demand is known up to ${known.to}; from then on ${perWeek} a week is carried on, ${weeks}.`
	];
}

function endText(facts: StockFacts, runOutDay: Day | null, carried: Carried): string {
	const isAsked = carried.sumG > 0 || facts.later?.some(({ greenG }) => greenG > 0);
	if (runOutDay !== null) {
		const later = facts.arrivals.filter(({ day }) => day > runOutDay);
		const note = later.length === 0 ? '' : ` What is expected ${later[0]!.day} comes after that.`;
		return `${runOutDay} is the first day whose need is not met in full.${note}`;
	}
	if (isAsked) return `It lasts longer than ${LONGEST_DAYS} days.`;
	return 'It does not run out on what is known.';
}
