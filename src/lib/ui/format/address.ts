/**
 * The state of a list lives in its address. These helpers read and change it, so that a table, its
 * filters and its pages agree on the words: `q` (search text), `sort` (a column, `-` before it for
 * largest first) and `page` (from 1).
 */

/** What of a URL the helpers need; a `URL` fits. */
export interface Address {
	readonly pathname: string;
	/** Only read; that of the page's state can't be written to. */
	readonly searchParams: Pick<URLSearchParams, 'get' | 'toString'>;
}

/** The address with some parameters set, or taken out where null or empty. */
export function withQuery(at: Address, changes: Record<string, string | null>): string {
	const query = new URLSearchParams(at.searchParams.toString());
	for (const [name, value] of Object.entries(changes)) {
		if (value === null || value === '') query.delete(name);
		else query.set(name, value);
	}
	const text = query.toString();
	return text === '' ? at.pathname : `${at.pathname}?${text}`;
}

export interface Sort {
	readonly key: string;
	readonly descending: boolean;
}

/** The column asked for, if it is one of `keys`; otherwise null. */
export function sortOf(at: Address, keys: readonly string[]): Sort | null {
	const asked = at.searchParams.get('sort') ?? '';
	const descending = asked.startsWith('-');
	const key = descending ? asked.slice(1) : asked;
	return keys.includes(key) ? { key, descending } : null;
}

/** Where a column's heading leads: rising first, falling when it is already rising. Starts at page 1. */
export function sortHref(at: Address, key: string): string {
	const now = at.searchParams.get('sort');
	return withQuery(at, { sort: now === key ? `-${key}` : key, page: null });
}

/** The page asked for, held between 1 and the last of `pages`. */
export function pageOf(at: Address, pages: number): number {
	const asked = Number(at.searchParams.get('page') ?? '1');
	return Number.isInteger(asked) ? Math.min(Math.max(asked, 1), Math.max(pages, 1)) : 1;
}
