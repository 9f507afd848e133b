import type { ActName } from '#lib/domain/access/rights.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { loadLastAct } from '../store/audit.ts';
import { loadSite } from '../store/site.ts';
import { detailText } from '../views/acts.ts';
import { momentOf } from '../views/moment.ts';
import { momentWords } from '../views/words.ts';
import type { Deed } from './act.ts';

/**
 * Rows that two people can edit carry a version. What a writer saw is
 * - `null`: nothing was looked at, the row is taken as it is (an import);
 * - 0: there was no such row, a new one is meant;
 * - otherwise the version that was shown.
 */
export type SeenVersion = number | null;

/** How to find who wrote last: the newest of these acts with these figures in its detail. */
export interface Trace {
	readonly acts: readonly ActName[];
	readonly detail?: Readonly<Record<string, string | number>>;
}

/** Who wrote last, where a record says so itself. */
export interface Written {
	readonly name: string;
	readonly at: InstantMs;
	/** In words; empty where nothing is known of it. */
	readonly what: string;
}

/**
 * Tells the second of two writers who changed what and when, or a newcomer that the code is taken.
 * @param existing the version now, 0 when there is no row
 */
export async function versionProblem(
	deed: Deed,
	what: string,
	seen: SeenVersion,
	existing: number,
	last: Trace | Written
): Promise<Problem | null> {
	if (seen === null || seen === existing) return null;
	const whom = await byWhom(deed, last);
	if (seen === 0)
		return { path: 'code', message: `${what} exists already, saved ${whom} your input is kept.` };
	return { path: 'version', message: `${what} was changed ${whom} ${KEPT}` };
}

const KEPT =
	'while you were editing. Your input is kept, with what is stored now beside it; save again to replace it.';

/** `by Ada, 25 Nov 10:32 (shade light → dark)`. */
export async function byWhom(deed: Deed, last: Trace | Written): Promise<string> {
	const zone = (await loadSite(deed.tx))?.timeZone ?? 'UTC';
	const written = 'name' in last ? last : await writtenBy(deed, last, zone);
	if (!written) return 'by someone else,';
	const what = written.what === '' ? '' : ` (${written.what})`;
	return `by ${written.name}, ${momentWords(momentOf(written.at, zone))}${what},`;
}

async function writtenBy(deed: Deed, trace: Trace, zone: string): Promise<Written | null> {
	const found = await loadLastAct(deed.tx, trace.acts, trace.detail ?? {});
	if (!found) return null;
	const { before, after } = found.detail;
	const what = after === undefined ? '' : detailText({ before: before ?? {}, after }, zone);
	return { name: found.name, at: found.at, what: what.length > 200 ? '' : what };
}
