import { describe, expect, it } from 'vitest';
import type { FaultName } from '../drum/faultRules.ts';
import type { DrumFault, DrumMark } from '../drum/reading.ts';
import { adviseNext, type Advice, type AdviceInput, type AdviceTest } from './advice.ts';
import { ADVICE_RULES } from './adviceRules.ts';
import { settingChanges, type TestSettings } from './settings.ts';

const SETTINGS: TestSettings = {
	chargeG: 10_000,
	startC: 195,
	soakS: 45,
	gasSteps: [0, 120, 200, 290, 380, 470, 560].map((atS, i) => ({ atS, pct: 70 - 5 * i })),
	airSteps: [
		{ atS: 0, pct: 55 },
		{ atS: 300, pct: 65 }
	],
	drumRpm: 50
};
const LIMITS = { gasMinPct: 8, gasMaxPct: 100, gasStepPct: 1 };

const mark = (timeS: number): DrumMark => ({
	timeS,
	temperatureC: 190,
	rorCMin: 8,
	from: 'marked',
	because: ''
});

function fault(name: FaultName, fromS = 540, toS = 590): DrumFault {
	return { name, fromS, toS, size: 5, unit: 'C/min', because: ['seen'], thresholds: {} };
}

function test(over: Partial<AdviceTest> = {}, faults: readonly DrumFault[] = []): AdviceTest {
	const marks = {
		charge: mark(0),
		turningPoint: mark(70),
		colourChange: mark(300),
		firstCrack: mark(560),
		drop: mark(650)
	};
	return {
		number: 1,
		settings: SETTINGS,
		roasted: true,
		reading: { faults, marks },
		verdict: 'adjust',
		reason: '',
		score: 84,
		descriptors: 'plum, cocoa',
		...over
	};
}

function input(tests: readonly AdviceTest[], over: Partial<AdviceInput> = {}): AdviceInput {
	return { tests, similar: [], plan: null, limits: LIMITS, ...over };
}

function advised(of: AdviceInput): Advice {
	const advice = adviseNext(of);
	if ('nothing' in advice) throw new Error(advice.nothing);
	return advice;
}

/** What triggers each rule of the table, and what it changes. */
const TRIGGERS: Readonly<Record<string, { test: AdviceTest; changes: RegExp }>> = {
	'start lower': {
		test: test({}, [fault('scorching start', 0, 90)]),
		changes: /^Start.*195 to 189/
	},
	'less gas before the crack': {
		test: test({}, [fault('runaway')]),
		changes: /^Gas 7:50 45 to 39 %, 9:20 40 to 34 %$/
	},
	'more gas through the stall': {
		test: test({}, [fault('stall', 330, 420)]),
		changes: /^Gas 4:50 55 to 61 %, 6:20 50 to 56 %$/
	},
	'a smaller gas cut about the crack': {
		test: test({}, [fault('crash')]),
		changes: /^Gas 7:50 45 to 51 %, 9:20 40 to 46 %$/
	},
	'less gas after the crack': {
		test: test({}, [fault('flick', 600, 640)]),
		changes: /^Gas 9:20 40 to 34 %$/
	},
	'smoke in the cup': {
		test: test({ descriptors: 'smoky, dull' }),
		changes: /^Air 5:00 65 to 73 %$/
	},
	'scorched in the cup': {
		test: test({ descriptors: 'scorched note' }),
		changes: /^Start temperature 195 to 189/
	},
	'green in the cup': {
		test: test({ reason: 'Crack late; grassy, thin.' }),
		changes: /^Start temperature 195 to 201/
	},
	'bready in the cup': { test: test({ descriptors: 'flat, bready finish' }), changes: /^Gas 4:50/ },
	'roasty in the cup': { test: test({ descriptors: 'roasty edge' }), changes: /^Gas 7:50/ },
	'uneven in the cup': { test: test({ descriptors: 'uneven' }), changes: /^Soak 45 to 60 s$/ },
	'muted in the cup': { test: test({ descriptors: 'muted' }), changes: /^Soak 45 to 30 s$/ }
};

describe('A4: the table of rules', () => {
	it.each(ADVICE_RULES)('$name: triggers on its evidence, and on nothing else', (rule) => {
		const { test: trigger, changes } = TRIGGERS[rule.name]!;
		const advice = advised(input([trigger]));
		expect(advice.rule).toBe(rule.name);
		expect(advice.change).toMatch(changes);
		expect(advice.records).toEqual([{ lotCode: null, test: 1 }]);
		expect(advice.source).toBe('common practice, no source');
		for (const [name, other] of Object.entries(TRIGGERS))
			if (name !== rule.name) expect(advised(input([other.test])).rule).not.toBe(rule.name);
		expect('nothing' in adviseNext(input([test()]))).toBe(true);
	});

	it('says for each rule its evidence and what would confirm it', () => {
		for (const rule of ADVICE_RULES) {
			expect(rule.evidence).toMatch(/\.$/);
			expect(rule.confirms).toMatch(/\.$/);
		}
	});

	it('takes a similar lot’s change where one rid it of the same fault', () => {
		const similar = {
			lotCode: 'HR-120',
			fromNumber: 1,
			toNumber: 2,
			before: SETTINGS,
			after: { ...SETTINGS, startC: 184 },
			faultsGone: ['crash' as const],
			verdictAfter: 'approve' as const
		};
		const advice = advised(input([test({}, [fault('crash')])], { similar: [similar] }));
		expect(advice.change).toBe('Start temperature 195 to 184 °C');
		expect(advice.records.map(({ lotCode }) => lotCode)).toEqual([null, 'HR-120', 'HR-120']);
		const other = advised(input([test({}, [fault('stall', 330, 420)])], { similar: [similar] }));
		expect(other.rule).toBe('more gas through the stall');
	});
});

describe('A1: what comes first', () => {
	it.each([
		[[], 'There is no test yet'],
		[[test({ roasted: false, verdict: null })], 'not roasted yet'],
		[[test({ verdict: null })], 'no verdict yet'],
		[[test({ verdict: 'approve' as const })], 'is approved'],
		[[test({ verdict: 'reject' as const })], 'is rejected'],
		[[test({ reading: null })], 'No rule finds a cause']
	])('says so (%#)', (tests, words) => {
		const advice = adviseNext(input(tests as readonly AdviceTest[]));
		expect('nothing' in advice && advice.nothing).toContain(words);
	});
});

describe('A2: one change, never tried before', () => {
	it('changes one setting whichever rule speaks', () => {
		for (const { test: trigger } of Object.values(TRIGGERS)) {
			const { settings } = advised(input([trigger]));
			expect(settingChanges(SETTINGS, settings)).toHaveLength(1);
		}
	});

	it('does not go back to settings that were tested', () => {
		const hot = test({ number: 2, descriptors: 'grassy' });
		const tried = test({ settings: { ...SETTINGS, startC: 201 } });
		expect('nothing' in adviseNext(input([tried, hot]))).toBe(true);
	});

	it('keeps to the burner’s limits: with none left there is nothing to propose', () => {
		const limits = { gasMinPct: 70, gasMaxPct: 100, gasStepPct: 5 };
		const settings = { ...SETTINGS, gasSteps: [{ atS: 0, pct: 70 }] };
		const advice = adviseNext(input([test({ settings }, [fault('runaway')])], { limits }));
		expect('nothing' in advice).toBe(true);
	});
});

describe('A3: what made things worse', () => {
	const second = { ...SETTINGS, startC: 205 };
	const worse = [
		test({ score: 85 }),
		test({ number: 2, settings: second, score: 83 }, [fault('crash')])
	];

	it('is taken half back', () => {
		const advice = advised(input(worse));
		expect(advice.change).toBe('Start temperature 205 to 200 °C');
		expect(advice.reason).toContain('brought a crash, and the score fell from 85 to 83');
	});

	it('stays where the score held', () => {
		const held = [worse[0]!, { ...worse[1]!, score: 85.5 }];
		expect(advised(input(held)).rule).toBe('a smaller gas cut about the crack');
	});
});

describe('A5: the gas plan', () => {
	const gasSteps = SETTINGS.gasSteps.map((step) => ({ ...step, pct: step.pct + 3 }));
	const plan = {
		settings: { ...SETTINGS, gasSteps },
		referenceLot: 'HR-140',
		missedC: 4.2,
		expectedC: 1.4
	};

	it('is proposed where the lot is off the reference’s curve and no rule speaks', () => {
		const advice = advised(input([test()], { plan }));
		expect(advice.source).toBe('heat demand');
		expect(advice.reason).toContain('4.2 C off the bean curve of HR-140');
	});

	it('is not where it was near enough, nor before a fault', () => {
		expect('nothing' in adviseNext(input([test()], { plan: { ...plan, missedC: 1.5 } }))).toBe(
			true
		);
		expect(advised(input([test({}, [fault('stall', 330, 420)])], { plan })).source).not.toBe(
			'heat demand'
		);
	});
});
