import { formatKg } from '../quantity/mass.ts';
import type { InstantMs } from '../quantity/time.ts';
import type { LotEvents, NextAct, Stage, Standing, TestEvents } from './lot.ts';

/**
 * Where a lot stands, derived from what was recorded about it and never typed in.
 *
 * 1. rejected: a rejection was recorded.
 * 2. used up: released, and the ledger brought it to zero.
 * 3. released: the last release was not followed by a re-opening.
 * 4. A re-opening starts the testing over: tests roasted before it no longer count, tests still waiting
 *    to be roasted do.
 * 5. in review: the last roasted test waits for its verdict, or the last verdict is to approve and the
 *    lot is not released yet.
 * 6. in test: the last verdict is to adjust or to reject; or the lot was re-opened and no test is
 *    planned yet.
 * 7. queued for test: a test is planned and none is roasted.
 * 8. sample roasted, arrived, expected: by the sample roast of the arrived coffee, the receipt, or
 *    neither.
 * 9. A lot is in its stage since the first record from which the stage never changed.
 */

const MS_PER_DAY = 86_400_000;

/** A test that was roasted. */
type Roasted = TestEvents & { readonly roastedAt: InstantMs };
/** A roasted test with its verdict. */
type Judged = Roasted & {
	readonly verdict: NonNullable<TestEvents['verdict']>;
	readonly verdictAt: InstantMs;
};

/** What the stage of a lot depends on once the order of its records has been worked out. */
interface Facts {
	readonly events: LotEvents;
	/** The release that stands, or null. */
	readonly release: InstantMs | null;
	/** The last re-opening, or null. */
	readonly reopened: InstantMs | null;
	/** Tests not roasted yet, in the order of their numbers. */
	readonly waiting: readonly TestEvents[];
	/** Tests roasted since the start or the last re-opening, oldest first. */
	readonly roasted: readonly Roasted[];
	/** The verdict given last on those. */
	readonly lastVerdict: Judged | null;
}

/**
 * The stage of a lot with the record that put it there and what to do next.
 * @throws RangeError when a test has a verdict without its time, or the time without the verdict
 */
export function standing(events: LotEvents): Standing {
	checkVerdicts(events);
	const facts = factsOf(events);
	const stage = stageOf(facts);
	return {
		stage,
		since: sinceOf(events, stage, facts),
		because: becauseOf(stage, facts),
		...nextOf(stage, facts)
	};
}

/** Whole days (of 24 hours) a lot has been in its stage; 0 when the stage began later than `nowMs`. */
export function daysInStage({ since }: Standing, nowMs: InstantMs): number {
	return Math.max(0, Math.floor((nowMs - since) / MS_PER_DAY));
}

function stageOf({ events, release, reopened, waiting, roasted, lastVerdict }: Facts): Stage {
	if (events.rejectedAt !== null) return 'rejected';
	if (release !== null) return isEmpty(events) ? 'used up' : 'released';
	const last = roasted.at(-1);
	if (last) {
		if (!isJudged(last) || lastVerdict?.verdict === 'approve') return 'in review';
		return 'in test';
	}
	if (waiting.length > 0) return 'queued for test';
	if (reopened !== null) return 'in test';
	if (events.arrivalSampleAt !== null) return 'sample roasted';
	return events.receivedAt === null ? 'expected' : 'arrived';
}

function factsOf(events: LotEvents): Facts {
	const lastRelease = latest(events.releasedAt);
	const reopened = latest(events.reopenedAt);
	// A release and a re-opening at the same instant: the safer reading is that the lot is not released.
	const stands = lastRelease !== null && (reopened === null || reopened < lastRelease);
	const roasted = events.tests
		.filter(isRoasted)
		.filter((test) => reopened === null || test.roastedAt >= reopened)
		.sort((a, b) => a.roastedAt - b.roastedAt || a.number - b.number);
	const judged = roasted
		.filter(isJudged)
		.sort((a, b) => a.verdictAt - b.verdictAt || a.number - b.number);
	return {
		events,
		release: stands ? lastRelease : null,
		reopened,
		waiting: events.tests
			.filter((test) => test.roastedAt === null)
			.sort((a, b) => a.number - b.number),
		roasted,
		lastVerdict: judged.at(-1) ?? null
	};
}

/** Rule 9: goes back from the last record for as long as the stage before it was the same. */
function sinceOf(events: LotEvents, stage: Stage, facts: Facts): InstantMs {
	if (stage === 'expected') return events.createdAt;
	if (stage === 'rejected' && events.rejectedAt !== null) return events.rejectedAt;
	if (stage === 'used up') return Math.max(facts.release ?? 0, events.emptiedAt ?? 0);
	if (stage === 'released' && facts.release !== null) return facts.release;
	const times = recordTimes(events);
	let since = times[0] ?? events.createdAt;
	for (let i = times.length - 1; i > 0; i -= 1) {
		const at = times[i] ?? since;
		const before = times[i - 1] ?? since;
		if (stageOf(factsOf(upTo(events, before))) !== stage) return at;
		since = before;
	}
	return since;
}

/** The records as they were known at an instant. Stock is left as it is: nothing here asks for it. */
function upTo(events: LotEvents, at: InstantMs): LotEvents {
	const known = (time: InstantMs | null) => (time !== null && time <= at ? time : null);
	const tests = events.tests
		.filter((test) => firstRecord(test) <= at)
		.map((test) => ({
			...test,
			roastedAt: known(test.roastedAt),
			cuppedAt: known(test.cuppedAt),
			verdictAt: known(test.verdictAt)
		}));
	return {
		...events,
		tests,
		receivedAt: known(events.receivedAt),
		arrivalSampleAt: known(events.arrivalSampleAt),
		releasedAt: events.releasedAt.filter((time) => time <= at),
		reopenedAt: events.reopenedAt.filter((time) => time <= at),
		rejectedAt: known(events.rejectedAt)
	};
}

/** Every time at which the stage may have changed, ascending, without repeats. */
function recordTimes(events: LotEvents): InstantMs[] {
	const tests = events.tests.flatMap((test) => [
		firstRecord(test),
		test.roastedAt,
		test.cuppedAt,
		test.verdictAt
	]);
	const own = [events.receivedAt, events.arrivalSampleAt, events.rejectedAt];
	const all = [...own, ...events.releasedAt, ...events.reopenedAt, ...tests];
	const known = all.filter((time): time is InstantMs => time !== null);
	return [...new Set(known)].sort((a, b) => a - b);
}

/** A roast that was entered first and planned afterwards is known since it was roasted. */
function firstRecord({ plannedAt, roastedAt }: TestEvents): InstantMs {
	return roastedAt === null ? plannedAt : Math.min(plannedAt, roastedAt);
}

function becauseOf(stage: Stage, facts: Facts): string {
	const { events, reopened, waiting, roasted, lastVerdict } = facts;
	switch (stage) {
		case 'rejected':
			return 'The lot was rejected.';
		case 'used up':
			return 'The lot is released and the ledger has brought it to zero.';
		case 'released':
			return events.releasedAt.length > 1 ? 'The lot was released again.' : 'The lot was released.';
		case 'in review':
			return reviewReason(roasted, lastVerdict);
		case 'in test':
			if (lastVerdict === null) return 'The lot was re-opened after its release.';
			return lastVerdict.verdict === 'adjust'
				? `The verdict on test ${lastVerdict.number} is to adjust.`
				: `Test ${lastVerdict.number} was rejected.`;
		case 'queued for test': {
			const first = waiting[0]?.number ?? 1;
			if (reopened !== null) return `The lot was re-opened and test ${first} is planned.`;
			return `Test ${first} is planned and none is roasted.`;
		}
		case 'sample roasted':
			return 'A sample of the arrived coffee was roasted.';
		case 'arrived':
			return 'The coffee was weighed in.';
		case 'expected':
			return 'The lot is entered and nothing has arrived.';
	}
}

function reviewReason(roasted: readonly Roasted[], lastVerdict: Judged | null): string {
	const last = roasted.at(-1);
	if (last && !isJudged(last)) return `Test ${last.number} is roasted and has no verdict.`;
	return `Test ${lastVerdict?.number ?? 1} was approved and the lot is not released.`;
}

function nextOf(stage: Stage, facts: Facts): Pick<Standing, 'nextStep' | 'nextAct'> {
	const step = stepOf(stage, facts);
	if (step === null) return { nextStep: null, nextAct: null };
	if (!step.needsGreen || !isOut(facts.events))
		return { nextStep: step.words, nextAct: { kind: step.kind, test: step.test } };
	return {
		nextStep: 'No green is left: correct the stock or reject the lot',
		nextAct: { kind: 'correct stock', test: null }
	};
}

interface Step extends NextAct {
	readonly words: string;
	readonly needsGreen: boolean;
}

function stepOf(stage: Stage, facts: Facts): Step | null {
	const { events } = facts;
	const step = (kind: NextAct['kind'], words: string, needsGreen: boolean) => ({
		...{ kind, words, needsGreen },
		test: null
	});
	switch (stage) {
		case 'expected':
			return step('weigh in', 'Weigh in the bags when they arrive', false);
		case 'arrived':
			return step('roast sample', 'Roast a sample of the arrived coffee', true);
		case 'sample roasted':
		case 'queued for test':
		case 'in test':
			return testStep(facts);
		case 'in review':
			return reviewStep(facts);
		case 'rejected':
			if (events.onHandG <= 0) return null;
			return step(
				'clear stock',
				`Send back, sell or write off the ${formatKg(events.onHandG)} on hand`,
				false
			);
		case 'released':
		case 'used up':
			return null;
	}
}

function testStep({ events, waiting }: Facts): Step {
	const test = waiting[0]?.number ?? nextNumber(events);
	return waiting[0]
		? { kind: 'roast test', test, words: `Roast test ${test}`, needsGreen: true }
		: { kind: 'plan test', test, words: `Plan test ${test}`, needsGreen: true };
}

function reviewStep({ roasted, lastVerdict }: Facts): Step {
	const last = roasted.at(-1);
	if (!last || isJudged(last)) {
		const test = lastVerdict?.number ?? 1;
		const words = `Release with the approved test ${test}`;
		return { kind: 'release', test, words, needsGreen: true };
	}
	const open = roasted.find((each) => !isJudged(each)) ?? last;
	const test = open.number;
	return open.cuppedAt === null
		? { kind: 'cup test', test, words: `Cup test ${test} and give a verdict`, needsGreen: false }
		: { kind: 'give verdict', test, words: `Give a verdict on test ${test}`, needsGreen: false };
}

function nextNumber({ tests }: LotEvents): number {
	return tests.reduce((most, test) => Math.max(most, test.number), 0) + 1;
}

function isRoasted(test: TestEvents): test is Roasted {
	return test.roastedAt !== null;
}

function isJudged(test: TestEvents): test is Judged {
	return test.roastedAt !== null && test.verdict !== null && test.verdictAt !== null;
}

/** Brought to zero by the ledger; a lot that never had stock is not used up. */
function isEmpty({ onHandG, emptiedAt }: LotEvents): boolean {
	return onHandG === 0 && emptiedAt !== null;
}

/** Received and nothing left of it. */
function isOut(events: LotEvents): boolean {
	return events.receivedAt !== null && events.onHandG <= 0;
}

function latest(times: readonly InstantMs[]): InstantMs | null {
	return times.length === 0 ? null : Math.max(...times);
}

function checkVerdicts({ tests }: LotEvents): void {
	for (const { number, verdict, verdictAt } of tests) {
		if ((verdict === null) !== (verdictAt === null)) {
			throw new RangeError(`test ${number} has a verdict (${verdict}) at ${verdictAt}`);
		}
	}
}
