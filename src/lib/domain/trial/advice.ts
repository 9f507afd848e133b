/**
 * The next test of a lot: one change, why, and what would confirm it.
 *
 * Rules:
 * A1 Advice rests on the lot's last test, once it is roasted and judged `adjust`. Anything else says what is
 *    to be done first.
 * A2 One change at most, and never settings that this lot was already tested with.
 * A3 What made things worse is taken back before anything else is tried: the one change between the last two
 *    tests brought a new fault or a lower score.
 * A4 Else the first rule of the table that finds its evidence. Where a similar lot had the same fault and one
 *    change rid it of that, the change is taken as that lot made it.
 * A5 Else, where the lot's bean curve is off the reference's, the gas plan made on its own log.
 * A6 Else there is nothing to propose, and that is said.
 */
import type { FaultName } from '../drum/faultRules.ts';
import type { DrumReading } from '../drum/reading.ts';
import type { Verdict } from '../lot/lot.ts';
import { ADVICE_RULES, type AdviceLimits, type AdviceRule, type TestLook } from './adviceRules.ts';
import { changeText, settingChanges, type TestSettings } from './settings.ts';

/** A test of the lot as it is on record. */
export interface AdviceTest {
	readonly number: number;
	readonly settings: TestSettings;
	readonly roasted: boolean;
	/** Null where there is no log, or none that can be read. */
	readonly reading: Pick<DrumReading, 'faults' | 'marks'> | null;
	readonly verdict: Verdict | null;
	readonly reason: string;
	/** Of the last cupping; null where there is none. */
	readonly score: number | null;
	readonly descriptors: string;
}

/** One change of one setting between two tests of a similar lot, and what came of it. */
export interface SimilarChange {
	readonly lotCode: string;
	readonly fromNumber: number;
	readonly toNumber: number;
	readonly before: TestSettings;
	readonly after: TestSettings;
	readonly faultsGone: readonly FaultName[];
	readonly verdictAfter: Verdict | null;
}

/** A gas plan for this lot (`planGas`), as settings. */
export interface PlanForAdvice {
	readonly settings: TestSettings;
	readonly referenceLot: string;
	/** How far the last test was off the reference's curve, and how far the next is expected to be, C. */
	readonly missedC: number;
	readonly expectedC: number;
}

export interface AdviceInput {
	/** In the order of their numbers. */
	readonly tests: readonly AdviceTest[];
	readonly similar: readonly SimilarChange[];
	readonly plan: PlanForAdvice | null;
	readonly limits: AdviceLimits;
}

/** Records that advice rests on, by lot and test; `lotCode` null is the lot itself. */
export interface AdviceRecord {
	readonly lotCode: string | null;
	readonly test: number;
}

export interface Advice {
	readonly rule: string;
	/** `Gas 7:50 55 to 49 %`. */
	readonly change: string;
	readonly settings: TestSettings;
	readonly reason: string;
	readonly records: readonly AdviceRecord[];
	readonly confirmedBy: string;
	readonly source: 'common practice, no source' | 'heat demand';
}

/** A score must fall by more than this for a change to have made things worse, points. */
const SCORE_FELL = 0.75;
/** Off the reference by more than this, the gas plan is worth a test, C. */
const OFF_C = 2;

/** The one change to try next, or why there is none. */
export function adviseNext(input: AdviceInput): Advice | { readonly nothing: string } {
	const last = input.tests.at(-1);
	if (!last) return nothing('There is no test yet: the first is planned from its sample.');
	const waits = whatComesFirst(last);
	if (waits !== null) return nothing(waits);
	const isNew = (advice: Advice | null): advice is Advice =>
		advice !== null &&
		settingChanges(last.settings, advice.settings).length === 1 &&
		input.tests.every(({ settings }) => settingChanges(settings, advice.settings).length > 0);
	const asked: Advice[] = [
		...ADVICE_RULES.flatMap((rule) => [similarOf(rule, last, input), ruleOf(rule, last, input)]),
		offReference(last, input)
	].filter(isNew);
	const back = takeBack(input.tests);
	return (
		back ??
		asked[0] ??
		nothing(
			'No rule finds a cause in the last test: no fault in its log, no word in its cup that one is made for, and no new settings to try. Choose the change yourself.'
		)
	);
}

function nothing(why: string): { readonly nothing: string } {
	return { nothing: why };
}

/** What is to be done before a change can be proposed (A1); null when it can. */
function whatComesFirst({ number, roasted, verdict }: AdviceTest): string | null {
	if (!roasted) return `Test ${number} is planned and not roasted yet: roast it first.`;
	if (verdict === null) return `Test ${number} has no verdict yet: cup it and judge it first.`;
	if (verdict === 'approve') return `Test ${number} is approved: nothing to change.`;
	if (verdict === 'reject') return `Test ${number} is rejected: decide about the lot first.`;
	return null;
}

/** The table's change (A4). */
function ruleOf(rule: AdviceRule, last: AdviceTest, { limits }: AdviceInput): Advice | null {
	const found = rule.find(lookOf(last, limits));
	if (!found) return null;
	return {
		...changeOf(last, found.settings),
		rule: rule.name,
		reason: `Test ${last.number}: ${found.seen}.`,
		records: [{ lotCode: null, test: last.number }],
		confirmedBy: rule.confirms,
		source: rule.source
	};
}

/** The change that rid a similar lot of the same fault, put on this lot's settings (A4). */
function similarOf(
	rule: AdviceRule,
	last: AdviceTest,
	{ similar, limits }: AdviceInput
): Advice | null {
	const { fault } = rule;
	if (fault === null || !last.reading?.faults.some(({ name }) => name === fault)) return null;
	for (const one of similar) {
		if (!one.faultsGone.includes(fault) || one.verdictAfter === 'reject') continue;
		const settings = sameChange(one, last.settings, limits);
		if (settings === null) continue;
		const made = settingChanges(one.before, one.after).map(changeText).join('; ');
		return {
			...changeOf(last, settings),
			rule: `${rule.name}, as a similar lot did`,
			reason: `Test ${last.number} has a ${fault}. ${one.lotCode} had one too in test ${one.fromNumber}; with ${made} it was gone in test ${one.toNumber}.`,
			records: [
				{ lotCode: null, test: last.number },
				{ lotCode: one.lotCode, test: one.fromNumber },
				{ lotCode: one.lotCode, test: one.toNumber }
			],
			confirmedBy: rule.confirms,
			source: rule.source
		};
	}
	return null;
}

/** A similar lot's one change by its size on these settings; null where it does not carry over. */
function sameChange(
	{ before, after }: SimilarChange,
	onto: TestSettings,
	{ gasMinPct, gasMaxPct }: AdviceLimits
): TestSettings | null {
	const changes = settingChanges(before, after);
	if (changes.length !== 1) return null;
	const { field } = changes[0]!;
	if (field === 'startC') return { ...onto, startC: onto.startC + after.startC - before.startC };
	if (field === 'soakS')
		return { ...onto, soakS: Math.max(0, onto.soakS + after.soakS - before.soakS) };
	if (field !== 'gasSteps') return null;
	const pctAt = (steps: TestSettings['gasSteps'], atS: number) =>
		steps.find((step) => Math.abs(step.atS - atS) <= 15)?.pct;
	const gasSteps = onto.gasSteps.map((step) => {
		const [from, to] = [pctAt(before.gasSteps, step.atS), pctAt(after.gasSteps, step.atS)];
		if (from === undefined || to === undefined) return step;
		return { ...step, pct: Math.min(gasMaxPct, Math.max(gasMinPct, step.pct + to - from)) };
	});
	return { ...onto, gasSteps };
}

/** The last change undone where it made things worse (A3). */
function takeBack(tests: readonly AdviceTest[]): Advice | null {
	const [before, last] = tests.slice(-2);
	if (!before || !last?.reading || !before.reading) return null;
	const changes = settingChanges(before.settings, last.settings);
	if (changes.length !== 1) return null;
	const had = new Set(before.reading.faults.map(({ name }) => name));
	const brought = last.reading.faults.filter(({ name }) => !had.has(name));
	const fell =
		before.score !== null && last.score !== null && before.score - last.score > SCORE_FELL;
	if (!(fell && brought.length > 0)) return null;
	const halfway = halfBack(before.settings, last.settings);
	if (tests.some(({ settings }) => settingChanges(settings, halfway).length === 0)) return null;
	return {
		...changeOf(last, halfway),
		rule: 'take half of the last change back',
		reason: `${changes.map(changeText).join('; ')} from test ${before.number} to ${last.number} brought a ${brought[0]!.name}, and the score fell from ${before.score} to ${last.score}.`,
		records: [
			{ lotCode: null, test: before.number },
			{ lotCode: null, test: last.number }
		],
		confirmedBy: `No ${brought[0]!.name}, and a score above ${last.score}.`,
		source: 'common practice, no source'
	};
}

/** Halfway between two settings that differ in one thing, in whole units. */
function halfBack(before: TestSettings, last: TestSettings): TestSettings {
	const middle = (a: number, b: number) => Math.round((a + b) / 2);
	const steps = (key: 'gasSteps' | 'airSteps') =>
		last[key].map((step) => {
			const was = before[key].find(({ atS }) => atS === step.atS)?.pct ?? step.pct;
			return { ...step, pct: middle(was, step.pct) };
		});
	return {
		chargeG: middle(before.chargeG, last.chargeG),
		startC: middle(before.startC, last.startC),
		soakS: middle(before.soakS, last.soakS),
		gasSteps: steps('gasSteps'),
		airSteps: steps('airSteps'),
		drumRpm: middle(before.drumRpm, last.drumRpm)
	};
}

/** The gas plan on the lot's own log (A5). */
function offReference(last: AdviceTest, { plan }: AdviceInput): Advice | null {
	if (!plan || plan.missedC <= OFF_C || plan.expectedC >= plan.missedC) return null;
	return {
		...changeOf(last, plan.settings),
		rule: 'gas plan by heat demand',
		reason: `Test ${last.number} was ${plan.missedC.toFixed(1)} C off the bean curve of ${plan.referenceLot} (root mean square); with this gas about ${plan.expectedC.toFixed(1)} C is expected.`,
		records: [{ lotCode: null, test: last.number }],
		confirmedBy: `The bean curve keeps within the band, and ends up less than ${OFF_C} C off.`,
		source: 'heat demand'
	};
}

function changeOf(last: AdviceTest, settings: TestSettings) {
	const change = settingChanges(last.settings, settings).map(changeText).join('; ');
	return { change, settings };
}

function lookOf(test: AdviceTest, limits: AdviceLimits): TestLook {
	return {
		settings: test.settings,
		faults: test.reading?.faults ?? [],
		crackS: test.reading?.marks.firstCrack?.timeS ?? null,
		dropS: test.reading?.marks.drop.timeS ?? null,
		cup: `${test.descriptors} ${test.reason}`.toLowerCase(),
		limits
	};
}
