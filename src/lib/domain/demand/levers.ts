import type { Day } from '../quantity/time.ts';
import { readyOutlook, type ReadyFacts } from './ready.ts';

/**
 * What would raise the chance that a lot is ready in time. Each is the same sum with one thing otherwise;
 * those that raise it by less than `WORTH` are left out.
 */

/** A point; less is not worth moving anything for. */
const WORTH = 0.01;

export interface LeverFacts {
	/** Days with a free slot on any roaster. */
	readonly anyRoaster: readonly Day[];
	/** Days with a free slot on the roaster with the smallest charge, null where it is the lot's own. */
	readonly smallest: { readonly name: string; readonly days: readonly Day[] } | null;
}

export interface Lever {
	readonly what: string;
	/** Chance in time with it. */
	readonly chance: number;
	/** By how much it is higher. */
	readonly gain: number;
}

/** The levers of a lot with a date, the best first. */
export function leversOf(facts: ReadyFacts, { anyRoaster, smallest }: LeverFacts): Lever[] {
	const now = readyOutlook(facts).chanceInTime;
	if (now === null) return [];
	const tried: { what: string; facts: ReadyFacts }[] = [
		{ what: 'a slot as soon as it can be tested', facts: everyDay(facts) },
		{ what: 'a slot on either roaster', facts: { ...facts, slotDays: anyRoaster } },
		...(smallest === null
			? []
			: [
					{
						what: `part-bag tests on ${smallest.name}`,
						facts: { ...facts, slotDays: smallest.days }
					}
				]),
		...(facts.cycleDays > 1
			? [
					{
						what: 'each verdict a working day sooner',
						facts: { ...facts, cycleDays: facts.cycleDays - 1 }
					}
				]
			: []),
		{
			what: 'two tests side by side, each with a change of its own',
			facts: sideBySide(facts)
		}
	];
	return tried
		.map(({ what, facts: with_ }) => {
			const chance = readyOutlook(with_).chanceInTime!;
			return { what, chance, gain: chance - now };
		})
		.filter(({ gain }) => gain >= WORTH - 1e-9)
		.sort((a, b) => b.gain - a.gain);
}

function everyDay({ slotDays: _, ...facts }: ReadyFacts): ReadyFacts {
	return facts;
}

/** Two tests a cycle: as many tests need half as many cycles, one left over counting as a whole. */
function sideBySide(facts: ReadyFacts): ReadyFacts {
	const halved = new Map<number, number>();
	for (const { tests, chance } of facts.tests.chances) {
		const cycles = Math.ceil(tests / 2);
		halved.set(cycles, (halved.get(cycles) ?? 0) + chance);
	}
	return {
		...facts,
		fewestTests: Math.ceil(facts.fewestTests / 2),
		tests: {
			chances: [...halved].map(([tests, chance]) => ({ tests, chance })),
			chanceBeyond: facts.tests.chanceBeyond
		}
	};
}
