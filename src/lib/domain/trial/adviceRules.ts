/**
 * What a test's faults and its cup suggest to change, as a table: one rule a row, in the order in which they
 * are asked. Every rule is common practice, no source.
 */
import type { FaultName } from '../drum/faultRules.ts';
import type { DrumFault } from '../drum/reading.ts';
import type { ControlStep, TestSettings } from './settings.ts';

/** Limits that a proposal keeps to. */
export interface AdviceLimits {
	readonly gasMinPct: number;
	readonly gasMaxPct: number;
	readonly gasStepPct: number;
}

/** What a rule about one test looks at. */
export interface TestLook {
	readonly settings: TestSettings;
	readonly faults: readonly DrumFault[];
	/** First crack and drop, s from charge; null where not in the log. */
	readonly crackS: number | null;
	readonly dropS: number | null;
	/** Words of the cup: descriptors and the verdict's reason, lower case. */
	readonly cup: string;
	readonly limits: AdviceLimits;
}

/** What a rule found, and the settings that it would try. */
export interface RuleFinding {
	readonly seen: string;
	readonly settings: TestSettings;
}

export interface AdviceRule {
	readonly name: string;
	/** What in the records triggers it. */
	readonly evidence: string;
	/** The fault that it mends; null for those of the cup. */
	readonly fault: FaultName | null;
	/** What would confirm it. */
	readonly confirms: string;
	readonly source: 'common practice, no source';
	readonly find: (look: TestLook) => RuleFinding | null;
}

const source = 'common practice, no source';
/** Sizes of a change: enough to see, little enough to learn from (common practice, no source). */
const GAS_POINTS = 6;
const START_C = 6;
const SOAK_S = 15;
const AIR_POINTS = 8;

export const ADVICE_RULES: readonly AdviceRule[] = [
	faultRule(
		'scorching start',
		'start lower',
		'The log shows a scorching start.',
		'No scorching start in the next log, and no scorched or tipped note in the cup.',
		(look) => startBy(look.settings, -START_C)
	),
	faultRule(
		'runaway',
		'less gas before the crack',
		'The rate of rise climbs above that at first crack.',
		'The rate of rise keeps falling after first crack.',
		(look, fault) => gasBy(look, (look.crackS ?? fault.fromS) - 45, Infinity, -GAS_POINTS)
	),
	faultRule(
		'stall',
		'more gas through the stall',
		'The bean temperature all but stops rising.',
		'The rate of rise stays above the threshold of a stall throughout.',
		(look, fault) => gasBy(look, fault.fromS - 60, fault.toS, GAS_POINTS)
	),
	faultRule(
		'crash',
		'a smaller gas cut about the crack',
		'The rate of rise falls away about first crack.',
		'No crash in the next log, first crack within 20 s of the last.',
		(look, fault) => gasBy(look, fault.fromS - 30, Infinity, GAS_POINTS)
	),
	faultRule(
		'flick',
		'less gas after the crack',
		'The rate of rise turns up again after first crack.',
		'The rate of rise keeps falling to the drop.',
		(look, fault) => gasBy(look, fault.fromS - 45, Infinity, -GAS_POINTS)
	),
	cupRule('smoke in the cup', ['smoky', 'smoke'], 'more air in the second half', (look) => ({
		...look.settings,
		airSteps: airBy(look, AIR_POINTS)
	})),
	cupRule('scorched in the cup', ['scorched', 'tipped'], 'start lower', ({ settings }) =>
		startBy(settings, -START_C)
	),
	cupRule('green in the cup', ['grassy', 'hay', 'green note'], 'start hotter', ({ settings }) =>
		startBy(settings, START_C)
	),
	cupRule(
		'bready in the cup',
		['bready', 'baked', 'flat'],
		'more gas from colour change on',
		(look) => gasBy(look, (look.crackS ?? 540) / 2, Infinity, GAS_POINTS)
	),
	cupRule('roasty in the cup', ['roasty', 'ashy', 'burnt'], 'less gas late', (look) =>
		gasBy(look, (look.crackS ?? 540) - 90, Infinity, -GAS_POINTS)
	),
	cupRule('uneven in the cup', ['uneven', 'astringent'], 'a longer soak', ({ settings }) => ({
		...settings,
		soakS: settings.soakS + SOAK_S
	})),
	cupRule('muted in the cup', ['muted'], 'a shorter soak', ({ settings }) => ({
		...settings,
		soakS: Math.max(0, settings.soakS - SOAK_S)
	}))
];

function faultRule(
	fault: FaultName,
	name: string,
	evidence: string,
	confirms: string,
	change: (look: TestLook, fault: DrumFault) => TestSettings
): AdviceRule {
	const find = (look: TestLook): RuleFinding | null => {
		const found = look.faults.find((one) => one.name === fault);
		if (!found) return null;
		return { seen: `${fault}: ${found.because[0] ?? ''}`, settings: change(look, found) };
	};
	return { name, evidence, fault, confirms, source, find };
}

function cupRule(
	name: string,
	words: readonly string[],
	change: string,
	settings: (look: TestLook) => TestSettings
): AdviceRule {
	const find = (look: TestLook): RuleFinding | null => {
		const word = words.find((one) => new RegExp(`\\b${one}\\b`).test(look.cup));
		if (word === undefined) return null;
		return { seen: `the cup is called ${word}: ${change}`, settings: settings(look) };
	};
	return {
		name,
		evidence: `The cup or the verdict says ${words.join(', ')}.`,
		fault: null,
		confirms: `The panel no longer finds it ${words[0]}, and the score does not fall.`,
		source,
		find
	};
}

function startBy(settings: TestSettings, byC: number): TestSettings {
	return { ...settings, startC: settings.startC + byC };
}

/** Gas moved by points from one time to another, on the burner's steps and within its limits. */
export function gasBy(
	{ settings, limits }: Pick<TestLook, 'settings' | 'limits'>,
	fromS: number,
	toS: number,
	points: number
): TestSettings {
	const { gasMinPct, gasMaxPct, gasStepPct } = limits;
	const by =
		Math.sign(points) *
		Math.max(gasStepPct, Math.round(Math.abs(points) / gasStepPct) * gasStepPct);
	const steps = inTime(settings.gasSteps);
	const gasSteps = steps.map((step, i) => {
		const endS = steps[i + 1]?.atS ?? Infinity;
		const middle = Math.min((step.atS + endS) / 2, step.atS + 60);
		const isIn = middle >= fromS && step.atS <= toS;
		const pct = Math.min(gasMaxPct, Math.max(gasMinPct, step.pct + by));
		return isIn ? { ...step, pct } : step;
	});
	return { ...settings, gasSteps };
}

/** The air of the later half of its steps moved by points. */
function airBy({ settings }: TestLook, points: number): ControlStep[] {
	const steps = inTime(settings.airSteps);
	const from = Math.floor(steps.length / 2);
	return steps.map((step, i) =>
		i >= from ? { ...step, pct: Math.min(100, step.pct + points) } : step
	);
}

function inTime(steps: readonly ControlStep[]): ControlStep[] {
	return [...steps].sort((a, b) => a.atS - b.atS);
}
