/** The reading of a sample in words: the table of `wordRules.ts` applied to a reading. */
import { normalCdf } from '../stats/distributions.ts';
import { figure } from './finding.ts';
import type { SampleReading } from './reading.ts';
import { CRACK_SPAN_C } from './shares.ts';
import {
	QUANTITIES,
	WORD_RULES,
	type Condition,
	type FirstTestAdvice,
	type Limit,
	type Part,
	type Quantity,
	type RuleName,
	type WordRule
} from './wordRules.ts';

/** Seconds from charge. */
export interface Span {
	readonly fromS: number;
	readonly toS: number;
}

/** One thing that the curve says. */
export interface Statement {
	readonly rule: RuleName;
	readonly topic: WordRule['topic'];
	/** What to expect in the drum. */
	readonly says: string;
	/** What that would mean for the first test; advice, never an instruction to a burner. */
	readonly firstTest: readonly FirstTestAdvice[];
	/** What was seen, with figures, beside what the rule asks for. */
	readonly evidence: string;
	/** Where on the curve that is. */
	readonly span: Span;
	/** 0 to 1: that the curve shows this. What a drum makes of it is common practice, no source. */
	readonly sureness: number;
	readonly source: WordRule['source'];
}

/** What the rules are decided by; null where the curve can't tell. */
export interface Seen {
	readonly verdict: SampleReading['crack']['verdict'];
	readonly quantities: Readonly<Record<Quantity, number | null>>;
	/** Each limit with the figures that show it. */
	readonly limits: Readonly<Partial<Record<Limit, string>>>;
}

/** Windows that rates are averaged over, s to each side: single values are noisy. */
const REACH_S = 7;
/** A base release below this share of the highest rate counts as this, so that growth stays finite. */
const LEAST_BASE = 0.01;

/** What the curve says, in the order of the table: the crack, what comes before it, what limits. */
export function readingInWords(reading: SampleReading): Statement[] {
	const seen = whatIsSeen(reading);
	return rulesThatHold(seen).map((rule) => ({
		rule: rule.name,
		topic: rule.topic,
		says: rule.says,
		firstTest: rule.firstTest,
		evidence: evidenceText(rule, seen, reading),
		span: spanOf(rule.part, reading),
		sureness: surenessOf(rule, seen, reading),
		source: rule.source
	}));
}

/** The rows of the table that hold. */
export function rulesThatHold(seen: Seen): WordRule[] {
	return WORD_RULES.filter(
		({ verdicts, limit, hiddenBy, conditions }) =>
			(verdicts?.includes(seen.verdict) ?? true) &&
			(limit === undefined || seen.limits[limit] !== undefined) &&
			!hiddenBy.some((hiding) => seen.limits[hiding] !== undefined) &&
			conditions.every((condition) => holds(condition, seen))
	);
}

function holds({ quantity, from = -Infinity, to = Infinity }: Condition, seen: Seen): boolean {
	const value = seen.quantities[quantity];
	return value !== null && value >= from && value < to;
}

/** Measures what the rules ask for. */
export function whatIsSeen(reading: SampleReading): Seen {
	const { series, shares, shareBoundsS, crack } = reading;
	const before = shares.early + shares.middle;
	const smooth = series.timeS.map((s) => meanAround(series.timeS, series.rate, s));
	const highest = smooth.reduce((a, b) => Math.max(a, b), 0);
	const base = (s: number) =>
		Math.max(LEAST_BASE * highest, meanAround(series.timeS, series.baseRate, s));
	const mean = series.rate.reduce((sum, rate) => sum + rate, 0) / series.rate.length;
	return {
		verdict: crack.verdict,
		quantities: {
			earlyShare: before > 0 ? shares.early / before : null,
			middleGrowth: highest > 0 ? base(shareBoundsS.middle) / base(shareBoundsS.early) : null,
			evenness: highest > 0 ? mean / highest : null,
			prominence: crack.prominence ?? 0
		},
		limits: limitsOf(reading)
	};
}

function meanAround(timeS: readonly number[], values: readonly number[], atS: number): number {
	const first = timeS[0]!;
	const from = Math.max(0, Math.ceil(atS - REACH_S - first));
	const to = Math.min(values.length - 1, Math.floor(atS + REACH_S - first));
	let sum = 0;
	for (let i = from; i <= to; i += 1) sum += values[i]!;
	return sum / (to - from + 1);
}

function limitsOf(reading: SampleReading): Seen['limits'] {
	const noisy = reading.problems.find(({ message }) => message.startsWith('Signal too noisy'));
	const unbalanced = reading.problems.find(({ path }) => path === 'balance');
	const off = reading.problems.find(({ path }) => path === 'drift');
	const early = endedEarly(reading);
	return {
		...(noisy && { noisy: noisy.message }),
		...(unbalanced && { unbalanced: unbalanced.message }),
		...(off && { 'sensor off': off.message }),
		...(early !== null && { 'ended early': early })
	};
}

/** A roast without a crack that never got to where cracks are usual, with its figures; else null. */
function endedEarly({ crack, series }: SampleReading): string | null {
	const measured = series.beanC ?? series.exhaustC;
	if (crack.verdict !== 'none' || measured === null) return null;
	const highestC = measured.reduce((a, b) => Math.max(a, b), -Infinity);
	if (highestC >= CRACK_SPAN_C.from) return null;
	const what = series.beanC ? 'bean' : 'exhaust';
	return `The ${what} temperature reached ${figure(highestC)} C; cracks are usual from ${CRACK_SPAN_C.from} C.`;
}

function spanOf(part: Part, reading: SampleReading): Span {
	const { shareBoundsS, crack, dropS, series } = reading;
	const startS = series.timeS[0]!;
	switch (part) {
		case 'crack':
			return {
				fromS: crack.onsetS ?? shareBoundsS.middle,
				toS: crack.endS ?? shareBoundsS.around
			};
		case 'first half':
			return { fromS: startS, toS: shareBoundsS.early };
		case 'second half':
			return { fromS: shareBoundsS.early, toS: shareBoundsS.middle };
		case 'whole':
			return { fromS: startS, toS: dropS };
	}
}

/**
 * How sure the curve shows it: as sure as the reading (and its crack, for the crack), times the chance
 * that a repeat of the roast would lie on the same side of the nearest threshold.
 */
function surenessOf(rule: WordRule, seen: Seen, reading: SampleReading): number {
	if (rule.topic === 'limit') return 1;
	const base =
		rule.topic === 'crack' ? Math.min(reading.crack.sureness, reading.sureness) : reading.sureness;
	const chances = rule.conditions.map(({ quantity, from, to }) => {
		const value = seen.quantities[quantity]!;
		const { repeatSd } = QUANTITIES[quantity];
		const margins = [from === undefined ? [] : value - from, to === undefined ? [] : to - value];
		return normalCdf(Math.min(...margins.flat()) / repeatSd);
	});
	return base * Math.min(1, ...chances);
}

function evidenceText(rule: WordRule, seen: Seen, reading: SampleReading): string {
	if (rule.limit !== undefined) return seen.limits[rule.limit]!;
	const measured = rule.conditions.map(
		(condition) =>
			`${QUANTITY_TEXT[condition.quantity](seen, reading)} (asked for: ${askedText(condition)}).`
	);
	return [...(rule.topic === 'crack' ? crackText(reading) : []), ...measured].join(' ');
}

function crackText({ crack, shares, shareBoundsS }: SampleReading): string[] {
	const seconds = Math.round(shareBoundsS.around - shareBoundsS.middle);
	const share = `${percent(shares.around)} of the water leaves in the ${seconds} s around it.`;
	return crack.verdict === 'none' ? [...crack.because] : [...crack.because, share];
}

/** Each quantity of a reading as a clause with its figures. */
const QUANTITY_TEXT: Readonly<Record<Quantity, (seen: Seen, reading: SampleReading) => string>> = {
	earlyShare: ({ quantities }, { shareBoundsS, crack }) => {
		const until = `${Math.round(shareBoundsS.middle)} s`;
		const before = crack.onsetS === null ? until : `the crack begins at ${until}`;
		const half = Math.round(shareBoundsS.early);
		return `Of the water released before ${before}, ${percent(quantities.earlyShare!)} had left by ${half} s`;
	},
	middleGrowth: ({ quantities }, { shareBoundsS }) =>
		`The base release grows ${figure(quantities.middleGrowth!)} times from ${Math.round(shareBoundsS.early)} to ${Math.round(shareBoundsS.middle)} s`,
	evenness: ({ quantities }) =>
		`The mean release from charge to drop is ${percent(quantities.evenness!)} of the highest`,
	prominence: ({ quantities }) => `Burst over base: ${percent(quantities.prominence!)}`
};

/** `27 % or more`. */
function askedText({ quantity, from, to }: Condition): string {
	const { unit } = QUANTITIES[quantity];
	const show = (value: number) => (unit === '%' ? percent(value) : `${figure(value)} times`);
	if (from !== undefined && to !== undefined) {
		return `from ${show(from)} to below ${show(to)}`;
	}
	return from === undefined ? `below ${show(to!)}` : `${show(from)} or more`;
}

function percent(share: number): string {
	return `${figure(100 * share)} %`;
}
