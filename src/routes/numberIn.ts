import { error } from '@sveltejs/kit';

/** The number that a part of an address stands for, from 1; anything else leads nowhere (404). */
export function numberIn(part: string): number {
	if (!/^[1-9]\d{0,14}$/.test(part)) error(404, `There is nothing at ${part}: expected a number.`);
	return Number(part);
}
