import { WEEKS_AHEAD, WEEKS_BACK } from './calendar.ts';
import { PRODUCTS, productOf } from './cast.ts';
import { chanceFrom } from './chance.ts';

/** Roasted kg ordered of each product in every week of the story, and asked for in the weeks ahead. */
export function demandTable(): ReadonlyMap<string, readonly number[]> {
	return new Map(PRODUCTS.map(({ code }) => [code, weeksOf(code)]));
}

function weeksOf(code: string): number[] {
	const { weeklyKg } = productOf(code);
	const chance = chanceFrom(`demand/${code}`);
	const slope = chance.between(0.05, 0.3);
	return Array.from({ length: WEEKS_BACK + WEEKS_AHEAD }, (_, week) => {
		const grown = 1 - slope + (slope * week) / WEEKS_BACK;
		const season = 1 + 0.08 * Math.cos((2 * Math.PI * (week - 27)) / 52.18);
		const ordered = weeklyKg * grown * season * chance.tame(1, 0.09);
		return Math.max(2, Math.round(ordered * 2) / 2);
	});
}
