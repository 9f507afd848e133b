import { error } from '@sveltejs/kit';

/** The number that a part of an address stands for, from 1; anything else leads nowhere (404). */
export function numberIn(part: string): number {
	if (!/^[1-9]\d{0,14}$/.test(part)) error(404, `There is nothing at ${part}: expected a number.`);
	return Number(part);
}

/**
 * A whole number that a form or query carries along, a version or an id; 0 for a blank, and -1, which none
 * has, for anything else.
 */
export function numberTyped(text: unknown): number {
	const isNumber = typeof text === 'string' && /^\s*(0|[1-9]\d{0,14})?\s*$/.test(text);
	return isNumber ? Number(text) : -1;
}
