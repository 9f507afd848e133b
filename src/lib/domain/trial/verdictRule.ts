import { CUPS } from './cupping.ts';
import type { FormYear, PanelResult } from './panel.ts';

/**
 * What a product asks of a cupping before its coffee is approved. A rule says; a person decides.
 *
 * 1. A rule names one form: the scales of the two can't be compared, so cuppings on the other don't count.
 * 2. It is met when the panel's mean is at least the smallest score, the largest cupper's score less the
 *    smallest is at most the largest spread, and no cup had a fault, each as far as the rule asks for it.
 * 3. One cupper has no spread: a rule that asks for it can't be told then.
 * 4. One part that fails and the rule is not met; none fails but one can't be told, and it can't be told.
 * 5. Going against a rule is to approve what doesn't meet it (or can't be told to), or to reject what
 *    does. To adjust is against nothing: the next test may well be better.
 * 6. A rule holds for verdicts given from the moment it was set.
 */
export interface VerdictRule {
	readonly form: FormYear;
	/** In points of the form; null asks for none. */
	readonly minScore: number | null;
	/** Points between the highest and the lowest cupper; null asks for none. */
	readonly maxSpread: number | null;
	readonly noFaultCups: boolean;
}

export type RuleSays = 'met' | 'not met' | "can't be told";

export interface RuleCheck {
	/** What the rule asks, `mean of at least 84.00`. */
	readonly asks: string;
	/** What was found, with what it rests on. */
	readonly found: string;
	/** Null where it can't be told. */
	readonly holds: boolean | null;
}

export interface RuleOutcome {
	readonly says: RuleSays;
	readonly checks: readonly RuleCheck[];
}

/** Whether a rule asks for anything. */
export function asksNothing(rule: VerdictRule): boolean {
	return rule.minScore === null && rule.maxSpread === null && !rule.noFaultCups;
}

/** A rule held against what the panel found; `results` are those of `panelResults`. */
export function applyRule(rule: VerdictRule, results: readonly PanelResult[]): RuleOutcome {
	const result = results.find(({ form }) => form === rule.form) ?? null;
	const checks = [
		...(rule.minScore === null ? [] : [scoreCheck(rule.minScore, rule.form, result)]),
		...(rule.maxSpread === null ? [] : [spreadCheck(rule.maxSpread, rule.form, result)]),
		...(rule.noFaultCups ? [faultCheck(rule.form, result)] : [])
	];
	if (checks.some(({ holds }) => holds === false)) return { says: 'not met', checks };
	const isKnown = checks.every(({ holds }) => holds === true);
	return { says: isKnown ? 'met' : "can't be told", checks };
}

/** Whether a verdict goes against what a rule says (rule 5). */
export function goesAgainst(verdict: 'approve' | 'adjust' | 'reject', says: RuleSays): boolean {
	if (verdict === 'approve') return says !== 'met';
	return verdict === 'reject' && says === 'met';
}

const NONE = (form: FormYear) => `no cupping on the form of ${form}`;

function scoreCheck(least: number, form: FormYear, result: PanelResult | null): RuleCheck {
	return {
		asks: `a mean of at least ${least.toFixed(2)} on the form of ${form}`,
		found: result ? `${result.mean.toFixed(2)} from ${cuppersText(result)}` : NONE(form),
		holds: result ? result.mean >= least : null
	};
}

function spreadCheck(most: number, form: FormYear, result: PanelResult | null): RuleCheck {
	const asks = `at most ${most.toFixed(2)} points between cuppers`;
	if (!result) return { asks, found: NONE(form), holds: null };
	if (result.spread === null) return { asks, found: 'one cupper alone has no spread', holds: null };
	const found = `${result.spread.toFixed(2)}, from ${result.lowest.toFixed(2)} to ${result.highest.toFixed(2)}`;
	return { asks, found, holds: result.spread <= most };
}

function faultCheck(form: FormYear, result: PanelResult | null): RuleCheck {
	const asks = 'no cup with a fault';
	if (!result) return { asks, found: NONE(form), holds: null };
	const cups = result.sheets * CUPS;
	return { asks, found: `${result.faultCups} of ${cups} cups`, holds: result.faultCups === 0 };
}

function cuppersText({ cuppers }: PanelResult): string {
	return cuppers === 1 ? '1 cupper' : `${cuppers} cuppers`;
}
