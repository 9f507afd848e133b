import type { BatchTraits, ChangeoverRule, Roaster } from './problem.ts';

/** Which changeovers a roastery keeps. */
export interface Separations {
	/** Minutes to run a drum clean of dark coffee before a lighter one; 0 for none. */
	readonly darkToLighterMin: number;
	/** Whether decaf and regular coffee are kept apart by a cleaning. */
	readonly decaf: boolean;
	/** Whether certified organic coffee comes after a cleaning where uncertified ran before. */
	readonly certified: boolean;
	/** Whether a cleaning follows flavoured coffee. */
	readonly flavoured: boolean;
}

/** All of them: common practice, no source. */
export const USUAL_SEPARATIONS: Separations = {
	darkToLighterMin: 10,
	decaf: true,
	certified: true,
	flavoured: true
};

/**
 * The usual separations, as data to start from. All are common practice, no source; a certifier's
 * or an allergen plan's own rule comes first and goes in as a rule of its own.
 */
export function changeoversFor(kept: Separations): readonly ChangeoverRule[] {
	const { darkToLighterMin } = kept;
	const darkTo = (shade: 'light' | 'medium'): ChangeoverRule => ({
		name: `${shade} roast after dark`,
		after: { shade: 'dark' },
		before: { shade },
		takes: darkToLighterMin
	});
	const cleaning = (
		name: string,
		after: Partial<BatchTraits>,
		before: Partial<BatchTraits>
	): ChangeoverRule => ({ name, after, before, takes: 'cleaning' });
	const decaf = [
		cleaning('regular coffee after decaf', { decaf: true }, { decaf: false }),
		cleaning('decaf after regular coffee', { decaf: false }, { decaf: true })
	];
	const certified = cleaning(
		'certified organic after uncertified coffee',
		{ certifiedOrganic: false },
		{ certifiedOrganic: true }
	);
	const flavoured = cleaning(
		'unflavoured coffee after flavoured',
		{ flavoured: true },
		{ flavoured: false }
	);
	return [
		...(kept.decaf ? decaf : []),
		...(kept.certified ? [certified] : []),
		...(kept.flavoured ? [flavoured] : []),
		...(darkToLighterMin > 0 ? [darkTo('light'), darkTo('medium')] : [])
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
