import { describe, expect, it } from 'vitest';
import { QUANTITIES, RULE_NAMES, WORD_RULES, type Quantity } from './wordRules.ts';
import { rulesThatHold, type Seen } from './words.ts';

/** Every value at which any row changes its mind, and one to each side. */
function telling(quantity: Quantity): number[] {
	const thresholds = WORD_RULES.flatMap(({ conditions }) =>
		conditions
			.filter((condition) => condition.quantity === quantity)
			.flatMap(({ from, to }) => [from, to].filter((value) => value !== undefined))
	);
	return [0, 10, ...new Set(thresholds.flatMap((value) => [value - 0.001, value, value + 0.001]))];
}

const LIMITS: readonly Seen['limits'][] = [
	{},
	{ noisy: '-' },
	{ unbalanced: '-' },
	{ 'sensor off': '-' },
	{ unbalanced: '-', 'sensor off': '-' },
	{ 'ended early': '-' }
];

/** Every combination of what can be seen, as far as the table tells apart. */
function* everythingSeen(): Generator<Seen> {
	for (const verdict of ['distinct', 'weak', 'none'] as const)
		for (const limits of LIMITS)
			for (const earlyShare of telling('earlyShare'))
				for (const middleGrowth of telling('middleGrowth'))
					for (const evenness of telling('evenness'))
						for (const prominence of telling('prominence'))
							yield {
								verdict,
								limits,
								quantities: { earlyShare, middleGrowth, evenness, prominence }
							};
}

/** Rows that would deny each other. */
const DENY: readonly (readonly [string, string])[] = [
	['high late peak', 'even release throughout'],
	['much release in the first half', 'little at first, then a steep middle'],
	['much release in the first half', 'even release throughout'],
	['little at first, then a steep middle', 'even release throughout'],
	['high late peak', 'weak or absent peak'],
	['distinct late peak', 'weak or absent peak'],
	['unclear peak', 'weak or absent peak'],
	['unclear peak', 'high late peak'],
	['noisy signal', 'weak or absent peak'],
	['roast ended before the crack', 'high late peak'],
	['roast ended before the crack', 'weak or absent peak'],
	['roast ended before the crack', 'even release throughout']
];

/** What is wrong with the statements of one reading, in words. */
function quarrels(seen: Seen): string[] {
	const rules = rulesThatHold(seen);
	const names = rules.map(({ name }) => name as string);
	const found = DENY.filter(([a, b]) => names.includes(a) && names.includes(b)).map(String);
	for (const topic of ['crack', 'before the crack'] as const)
		if (rules.filter((rule) => rule.topic === topic).length > 1) found.push(`two on ${topic}`);
	const leans = new Map<string, string>();
	for (const { setting, lean } of rules.flatMap(({ firstTest }) => firstTest)) {
		if ((leans.get(setting) ?? lean) !== lean) found.push(`${setting} both ways`);
		leans.set(setting, lean);
	}
	return found;
}

describe('the table', () => {
	it('has every rule once', () => {
		expect(WORD_RULES.map(({ name }) => name)).toEqual([...RULE_NAMES]);
	});

	it('rules 1, 2 and 4: statements never contradict each other, whatever is seen', () => {
		let seen = 0;
		const found = new Set<string>();
		const said = new Set<string>();
		for (const one of everythingSeen()) {
			seen += 1;
			for (const quarrel of quarrels(one)) found.add(quarrel);
			for (const { name } of rulesThatHold(one)) said.add(name);
		}
		expect(seen).toBeGreaterThan(1000);
		expect(said).toEqual(new Set(RULE_NAMES));
		expect([...found]).toEqual([]);
	});

	it('rule 2: topics advise on different settings', () => {
		const settings = (topic: string) =>
			new Set(
				WORD_RULES.filter((rule) => rule.topic === topic).flatMap(({ firstTest }) =>
					firstTest.map(({ setting }) => setting)
				)
			);
		const crack = settings('crack');
		const before = settings('before the crack');
		expect([...crack].filter((setting) => before.has(setting))).toEqual([]);
		expect([...settings('limit')]).toEqual(['sample']);
	});

	it('rule 3: advice has no figure and gives a burner no order', () => {
		for (const { setting, says } of WORD_RULES.flatMap(({ firstTest }) => firstTest)) {
			expect(says, setting).not.toMatch(/\d|°|burner|turn (up|down|off)|ignite|%/i);
			expect(says, setting).toMatch(/^[A-Z].*\.$/);
		}
		expect(WORD_RULES.every(({ firstTest }) => firstTest.length > 0)).toBe(true);
	});

	it('says that it is common practice, and how far repeats lie apart', () => {
		expect(WORD_RULES.every(({ source }) => source === 'common practice, no source')).toBe(true);
		for (const { repeatSd } of Object.values(QUANTITIES)) expect(repeatSd).toBeGreaterThan(0);
	});

	it('rule 1: a figure on a threshold belongs to one row', () => {
		const at = (earlyShare: number) =>
			rulesThatHold({
				verdict: 'distinct',
				limits: {},
				quantities: { earlyShare, middleGrowth: 4, evenness: 0.5, prominence: 0.2 }
			}).map(({ name }) => name)[1];
		expect(at(0.1899)).toBe('little at first, then a steep middle');
		expect(at(0.19)).toBe('even release throughout');
		expect(at(0.27)).toBe('much release in the first half');
	});
});
