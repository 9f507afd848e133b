import type { BatchTraits, ChangeoverRule, Roaster } from './problem.ts';

/**
 * The usual separations, as data to start from. All are common practice, no source; a certifier's
 * or an allergen plan's own rule comes first and goes in as a rule of its own.
 */
export function usualChangeovers(darkToLighterMin: number): readonly ChangeoverRule[] {
	const darkTo = (shade: 'light' | 'medium'): ChangeoverRule => ({
		name: `${shade} roast after dark`,
		after: { shade: 'dark' },
		before: { shade },
		takes: darkToLighterMin
	});
	return [
		{
			name: 'regular coffee after decaf',
			after: { decaf: true },
			before: { decaf: false },
			takes: 'cleaning'
		},
		{
			name: 'decaf after regular coffee',
			after: { decaf: false },
			before: { decaf: true },
			takes: 'cleaning'
		},
		{
			name: 'certified organic after uncertified coffee',
			after: { certifiedOrganic: false },
			before: { certifiedOrganic: true },
			takes: 'cleaning'
		},
		{
			name: 'unflavoured coffee after flavoured',
			after: { flavoured: true },
			before: { flavoured: false },
			takes: 'cleaning'
		},
		darkTo('light'),
		darkTo('medium')
	];
}

/** What a roaster needs between two batches. */
export interface Changeover {
	readonly kind: 'cleaning' | 'changeover';
	readonly minutes: number;
	/** The names of the rules it serves. */
	readonly because: string;
}

/**
 * The changeover from one batch to the next, null when none is needed (also after a clean start, when
 * `earlier` is null). Of several rules that apply the longest is taken and all are named.
 */
export function changeoverBetween(
	roaster: Roaster,
	earlier: BatchTraits | null,
	later: BatchTraits
): Changeover | null {
	if (earlier === null) return null;
	const applying = roaster.changeovers.filter(
		(rule) => hasTraits(earlier, rule.after) && hasTraits(later, rule.before)
	);
	if (applying.length === 0) return null;
	const minutes = Math.max(...applying.map((rule) => ruleMinutes(roaster, rule)));
	return {
		kind: applying.some((rule) => rule.takes === 'cleaning') ? 'cleaning' : 'changeover',
		minutes,
		because: applying.map((rule) => rule.name).join('; ')
	};
}

function hasTraits(traits: BatchTraits, wanted: Partial<BatchTraits>): boolean {
	return (
		(wanted.decaf ?? traits.decaf) === traits.decaf &&
		(wanted.certifiedOrganic ?? traits.certifiedOrganic) === traits.certifiedOrganic &&
		(wanted.shade ?? traits.shade) === traits.shade &&
		(wanted.flavoured ?? isFlavoured(traits)) === isFlavoured(traits)
	);
}

function ruleMinutes(roaster: Roaster, rule: ChangeoverRule): number {
	return rule.takes === 'cleaning' ? roaster.cleaningMin : rule.takes;
}

/** Whether a batch carries a flavour over. */
export function isFlavoured({ flavoured = false }: BatchTraits): boolean {
	return flavoured;
}
