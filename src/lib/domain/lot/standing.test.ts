import { describe, expect, it } from 'vitest';
import type { LotEvents, Stage, TestEvents, Verdict } from './lot.ts';
import { daysInStage, standing } from './standing.ts';

const LOT: LotEvents = {
	createdAt: 0,
	receivedAt: null,
	arrivalSampleAt: null,
	tests: [],
	releasedAt: [],
	reopenedAt: [],
	rejectedAt: null,
	onHandG: 0,
	emptiedAt: null
};
const ARRIVED: LotEvents = { ...LOT, receivedAt: 10, onHandG: 600_000 };
const SAMPLED: LotEvents = { ...ARRIVED, arrivalSampleAt: 20 };

/** A test from the times of its plan, roast and verdict; cupped half a tick before the verdict. */
function test(number: number, plannedAt: number, roastedAt?: number, verdict?: [number, Verdict]) {
	return {
		number,
		plannedAt,
		roastedAt: roastedAt ?? null,
		cuppedAt: verdict ? verdict[0] - 0.5 : null,
		verdictAt: verdict?.[0] ?? null,
		verdict: verdict?.[1] ?? null
	} satisfies TestEvents;
}

const withTests = (...tests: TestEvents[]): LotEvents => ({ ...SAMPLED, tests });
const ADJUSTED = test(1, 30, 40, [50, 'adjust']);
const APPROVED = test(2, 60, 70, [80, 'approve']);
const RELEASED: LotEvents = { ...withTests(ADJUSTED, APPROVED), releasedAt: [90] };
const REOPENED: LotEvents = { ...RELEASED, reopenedAt: [100] };

describe('the next act', () => {
	it.each<[string, LotEvents, { kind: string; test: number | null } | null]>([
		['of a lot on its way', LOT, { kind: 'weigh in', test: null }],
		['of an arrived lot', ARRIVED, { kind: 'roast sample', test: null }],
		['of a sampled lot', SAMPLED, { kind: 'plan test', test: 1 }],
		['with a test planned', withTests(test(1, 30)), { kind: 'roast test', test: 1 }],
		['with a roasted test', withTests(test(1, 30, 40)), { kind: 'cup test', test: 1 }],
		['after an adjustment', withTests(ADJUSTED), { kind: 'plan test', test: 2 }],
		['after an approval', withTests(ADJUSTED, APPROVED), { kind: 'release', test: 2 }],
		['without green', { ...SAMPLED, onHandG: 0 }, { kind: 'correct stock', test: null }],
		['of a rejected lot', { ...ARRIVED, rejectedAt: 55 }, { kind: 'clear stock', test: null }],
		['of a released lot', RELEASED, null]
	])('%s says what to do to which test, as its words do', (_, events, nextAct) => {
		const found = standing(events);
		expect(found.nextAct).toEqual(nextAct);
		expect(found.nextStep === null).toBe(nextAct === null);
	});
});

describe('the stage of a lot', () => {
	it.each<[string, LotEvents, Stage, number, string, string | null]>([
		[
			'entered (rule 8)',
			LOT,
			'expected',
			0,
			'nothing has arrived',
			'Weigh in the bags when they arrive'
		],
		[
			'weighed in (rule 8)',
			ARRIVED,
			'arrived',
			10,
			'weighed in',
			'Roast a sample of the arrived coffee'
		],
		['sampled (rule 8)', SAMPLED, 'sample roasted', 20, 'sample', 'Plan test 1'],
		[
			'planned (rule 7)',
			withTests(test(1, 30)),
			'queued for test',
			30,
			'Test 1 is planned',
			'Roast test 1'
		],
		[
			'planned before the sample was roasted (rules 7, 9)',
			{ ...SAMPLED, tests: [test(1, 15)] },
			'queued for test',
			15,
			'Test 1 is planned',
			'Roast test 1'
		],
		[
			'roasted (rule 5)',
			withTests(test(1, 30, 40)),
			'in review',
			40,
			'Test 1 is roasted and has no verdict.',
			'Cup test 1 and give a verdict'
		],
		[
			'cupped (rule 5)',
			withTests({ ...test(1, 30, 40), cuppedAt: 45 }),
			'in review',
			40,
			'no verdict',
			'Give a verdict on test 1'
		],
		[
			'to adjust (rule 6)',
			withTests(ADJUSTED),
			'in test',
			50,
			'test 1 is to adjust',
			'Plan test 2'
		],
		[
			'to adjust, the next planned (rule 6)',
			withTests(ADJUSTED, test(2, 60)),
			'in test',
			50,
			'test 1 is to adjust',
			'Roast test 2'
		],
		[
			'a test rejected (rule 6)',
			withTests(test(1, 30, 40, [50, 'reject'])),
			'in test',
			50,
			'Test 1 was rejected.',
			'Plan test 2'
		],
		[
			'the next roasted (rule 5)',
			withTests(ADJUSTED, test(2, 60, 70)),
			'in review',
			70,
			'Test 2 is roasted',
			'Cup test 2 and give a verdict'
		],
		[
			'two roasted on one day, none judged (rules 5, 9)',
			withTests(test(1, 30, 40), test(2, 30, 42)),
			'in review',
			40,
			'Test 2 is roasted',
			'Cup test 1 and give a verdict'
		],
		[
			'approved, in review since its roast (rules 5, 9)',
			withTests(ADJUSTED, APPROVED),
			'in review',
			70,
			'Test 2 was approved and the lot is not released.',
			'Release with the approved test 2'
		],
		[
			'approved, then another to adjust (rule 6)',
			withTests(APPROVED, test(3, 81, 82, [95, 'adjust'])),
			'in test',
			95,
			'test 3 is to adjust',
			'Plan test 4'
		],
		[
			'the verdicts in the other order (rule 5)',
			withTests(test(1, 30, 40, [60, 'approve']), test(2, 30, 42, [50, 'adjust'])),
			'in review',
			60,
			'Test 1 was approved',
			'Release with the approved test 1'
		],
		['released (rule 3)', RELEASED, 'released', 90, 'was released', null],
		[
			'released with a further test open (rule 3)',
			{ ...RELEASED, tests: [...RELEASED.tests, test(3, 95, 96)] },
			'released',
			90,
			'was released',
			null
		],
		[
			'used up (rule 2)',
			{ ...RELEASED, onHandG: 0, emptiedAt: 300 },
			'used up',
			300,
			'brought it to zero',
			null
		],
		[
			're-opened (rules 4, 6)',
			REOPENED,
			'in test',
			100,
			're-opened after its release',
			'Plan test 3'
		],
		[
			're-opened, a test planned (rules 4, 7)',
			{ ...REOPENED, tests: [...REOPENED.tests, test(3, 110)] },
			'queued for test',
			110,
			're-opened and test 3 is planned',
			'Roast test 3'
		],
		[
			're-opened, a test left over from before (rules 4, 7)',
			{ ...REOPENED, tests: [...REOPENED.tests, test(3, 85)] },
			'queued for test',
			100,
			'test 3 is planned',
			'Roast test 3'
		],
		[
			're-opened, tested (rules 4, 5)',
			{ ...REOPENED, tests: [...REOPENED.tests, test(3, 110, 120)] },
			'in review',
			120,
			'Test 3 is roasted',
			'Cup test 3 and give a verdict'
		],
		[
			're-opened, approved (rules 4, 5)',
			{ ...REOPENED, tests: [...REOPENED.tests, test(3, 110, 120, [130, 'approve'])] },
			'in review',
			120,
			'Test 3 was approved',
			'Release with the approved test 3'
		],
		[
			'released again (rule 3)',
			{ ...REOPENED, releasedAt: [90, 140] },
			'released',
			140,
			'released again',
			null
		],
		[
			're-opened at the instant of its release',
			{ ...RELEASED, reopenedAt: [90] },
			'in test',
			90,
			're-opened',
			'Plan test 3'
		],
		[
			'rejected (rule 1)',
			{ ...withTests(ADJUSTED), rejectedAt: 55, onHandG: 570_000 },
			'rejected',
			55,
			'rejected',
			'Send back, sell or write off the 570 kg on hand'
		],
		[
			'rejected and gone (rule 1)',
			{ ...ARRIVED, rejectedAt: 55, onHandG: 0 },
			'rejected',
			55,
			'',
			null
		]
	])('%s', (_, events, stage, since, because, nextStep) => {
		const found = standing(events);
		expect(found).toMatchObject({ stage, since, nextStep });
		expect(found.because).toContain(because);
	});

	it('is not used up before its release: the last green went into tests', () => {
		const events = { ...withTests(ADJUSTED), onHandG: 0, emptiedAt: 40 };
		const out = 'No green is left: correct the stock or reject the lot';
		expect(standing(events)).toMatchObject({ stage: 'in test', nextStep: out });
		const roasted = { ...withTests(test(1, 30, 40)), onHandG: 0, emptiedAt: 40 };
		expect(standing(roasted).nextStep).toBe('Cup test 1 and give a verdict');
	});

	it('is released again once a count finds stock', () => {
		expect(standing({ ...RELEASED, onHandG: 400, emptiedAt: null }).stage).toBe('released');
	});

	it('throws on a verdict without its time', () => {
		const broken = { ...ADJUSTED, verdictAt: null };
		expect(() => standing(withTests(broken))).toThrow('test 1 has a verdict (adjust)');
	});
});

describe('days in a stage', () => {
	it('are whole days and never negative', () => {
		const day = 86_400_000;
		const at = standing({ ...LOT, createdAt: 1000 });
		expect(daysInStage(at, 1000 + 3 * day - 1)).toBe(2);
		expect(daysInStage(at, 1000 + 3 * day)).toBe(3);
		expect(daysInStage(at, 0)).toBe(0);
	});
});

/**
 * The same life told as a machine that is moved on one record at a time, to hold the derivation against.
 * It knows the stage it is in and which record leads where; it never looks back.
 */
type Action =
	| { readonly do: 'receive' | 'sample' | 'plan' | 'release' | 'reopen' | 'reject' | 'use up' }
	| { readonly do: 'roast'; readonly test: number }
	| { readonly do: 'judge'; readonly test: number; readonly verdict: Verdict };

interface Machine {
	readonly stage: Stage;
	readonly since: number;
	readonly events: LotEvents;
	/** Numbers of tests waiting for a verdict in this round, in the order they were roasted. */
	readonly openTests: readonly number[];
	readonly lastRoasted: number | null;
	readonly lastVerdict: Verdict | null;
}

function possible(m: Machine, mostTests: number): Action[] {
	const { events, stage } = m;
	if (stage === 'rejected' || stage === 'used up') return [];
	const actions: Action[] = [];
	if (events.receivedAt === null) actions.push({ do: 'receive' });
	else if (events.arrivalSampleAt === null) actions.push({ do: 'sample' });
	if (events.tests.length < mostTests) actions.push({ do: 'plan' });
	for (const { number, roastedAt, verdict } of events.tests) {
		if (roastedAt === null) actions.push({ do: 'roast', test: number });
		else if (verdict === null && m.openTests.includes(number)) {
			actions.push({ do: 'judge', test: number, verdict: 'approve' });
			actions.push({ do: 'judge', test: number, verdict: 'adjust' });
		}
	}
	if (stage === 'released') actions.push({ do: 'reopen' }, { do: 'use up' });
	else actions.push({ do: 'reject' });
	if (m.lastVerdict === 'approve' && stage === 'in review') actions.push({ do: 'release' });
	return actions;
}

function record(events: LotEvents, action: Action, at: number): LotEvents {
	const change = (number: number, facts: Partial<TestEvents>) => ({
		...events,
		tests: events.tests.map((one) => (one.number === number ? { ...one, ...facts } : one))
	});
	switch (action.do) {
		case 'receive':
			return { ...events, receivedAt: at, onHandG: 600_000 };
		case 'sample':
			return { ...events, arrivalSampleAt: at };
		case 'plan':
			return { ...events, tests: [...events.tests, test(events.tests.length + 1, at)] };
		case 'roast':
			return change(action.test, { roastedAt: at });
		case 'judge':
			return change(action.test, { cuppedAt: at, verdictAt: at, verdict: action.verdict });
		case 'release':
			return { ...events, releasedAt: [...events.releasedAt, at] };
		case 'reopen':
			return { ...events, reopenedAt: [...events.reopenedAt, at] };
		case 'reject':
			return { ...events, rejectedAt: at };
		case 'use up':
			return { ...events, onHandG: 0, emptiedAt: at };
	}
}

function movedOn(m: Machine, action: Action, at: number): Machine {
	const events = record(m.events, action, at);
	const to = (stage: Stage, more: Partial<Machine> = {}): Machine => ({
		...m,
		...more,
		events,
		stage,
		since: stage === m.stage ? m.since : at
	});
	const early = m.lastRoasted === null && m.stage !== 'released';
	switch (action.do) {
		case 'receive':
			return to(m.stage === 'expected' ? 'arrived' : m.stage);
		case 'sample':
			return to(m.stage === 'arrived' ? 'sample roasted' : m.stage);
		case 'plan':
			return to(early ? 'queued for test' : m.stage);
		case 'roast': {
			const openTests = [...m.openTests, action.test];
			const stage = m.stage === 'released' ? 'released' : 'in review';
			return to(stage, { openTests, lastRoasted: action.test });
		}
		case 'judge': {
			const openTests = m.openTests.filter((number) => number !== action.test);
			const waits = m.lastRoasted !== null && openTests.includes(m.lastRoasted);
			const judged = waits || action.verdict === 'approve' ? 'in review' : 'in test';
			const stage = m.stage === 'released' ? 'released' : judged;
			return to(stage, { openTests, lastVerdict: action.verdict });
		}
		case 'release':
			return to('released');
		case 'reopen': {
			const waiting = events.tests.some((one) => one.roastedAt === null);
			const stage = waiting ? 'queued for test' : 'in test';
			return to(stage, { openTests: [], lastRoasted: null, lastVerdict: null });
		}
		case 'reject':
			return to('rejected');
		case 'use up':
			return to('used up');
	}
}

describe('every order of up to eight records with up to three tests', () => {
	it('gives the stage and the time that a machine moved on record by record reaches', () => {
		const start: Machine = {
			stage: 'expected',
			since: 0,
			events: LOT,
			openTests: [],
			lastRoasted: null,
			lastVerdict: null
		};
		const seen = new Map<Stage, number>();
		const faults: string[] = [];
		const walk = (m: Machine, path: string, at: number): void => {
			const found = standing(m.events);
			seen.set(m.stage, (seen.get(m.stage) ?? 0) + 1);
			if (found.stage !== m.stage || found.since !== m.since) {
				faults.push(`${path}: ${found.stage} since ${found.since}, expected ${m.stage} ${m.since}`);
			}
			if (at > 8 || faults.length > 5) return;
			for (const action of possible(m, 3)) {
				walk(movedOn(m, action, at), `${path} > ${Object.values(action).join(' ')}`, at + 1);
			}
		};
		walk(start, 'entered', 1);
		expect(faults).toEqual([]);
		expect([...seen.keys()].sort()).toHaveLength(9);
		expect([...seen.values()].reduce((a, b) => a + b)).toBeGreaterThan(10_000);
	});
});
