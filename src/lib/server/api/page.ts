import { ApiProblem } from './problem.ts';

export interface PageAsked {
	readonly limit: number;
	readonly cursor?: string | undefined;
}

/**
 * The items after a cursor. A cursor holds the key of the last item that was sent: what is added or goes
 * meanwhile moves no other item to another page.
 * @param items in the order of their keys
 */
export function pageAfter<T, K extends string | number>(
	items: readonly T[],
	keyOf: (item: T) => K,
	{ limit, cursor }: PageAsked
): { items: T[]; next: string | null } {
	const after = cursor === undefined ? null : keyIn(cursor);
	if (after !== null && items[0] !== undefined && typeof after !== typeof keyOf(items[0]))
		throw badCursor();
	const rest = after === null ? items : items.filter((item) => keyOf(item) > after);
	const page = rest.slice(0, limit);
	const last = page.at(-1);
	return { items: page, next: last && rest.length > limit ? cursorOf(keyOf(last)) : null };
}

function cursorOf(key: string | number): string {
	return Buffer.from(JSON.stringify(key)).toString('base64url');
}

function keyIn(cursor: string): string | number {
	try {
		const key: unknown = JSON.parse(Buffer.from(cursor, 'base64url').toString());
		if (typeof key === 'string' || typeof key === 'number') return key;
	} catch {
		// Told below.
	}
	throw badCursor();
}

function badCursor(): ApiProblem {
	return new ApiProblem(400, 'The cursor is none of ours; start without one.');
}
