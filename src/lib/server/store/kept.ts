import { asc, gt } from 'drizzle-orm';
import { leavesLots } from '#lib/domain/access/leavesLots.ts';
import type { Reader } from '../db/client.ts';
import { audit, lot } from '../db/schema.ts';
import { newestActId } from './audit.ts';

/**
 * What is worked out of each lot by itself, kept in memory so that ten years of lots aren't loaded for a
 * page of today. Rules:
 * 1. An act writes its audit line in the transaction that changes records. So the newest line tells whether
 *    anything changed, whichever process did it, and the lines since tell which lots.
 * 2. A line without a lot touches every lot, unless its act is known to leave all as they are.
 * 3. What is kept belongs to one reader: a transaction reads afresh, and what it undoes is never kept.
 * 4. Loading many lots lets others have their turn in between.
 */
export type KeptByLot<V> = (db: Reader) => Promise<ReadonlyMap<number, V>>;

/** Lots loaded at a time (rule 4). */
const LOTS_AT_ONCE = 250;

interface State<V> {
	readonly stamp: number;
	/** What else the values hang on. */
	readonly key: string;
	/** In the order of codes. */
	readonly values: ReadonlyMap<number, V>;
}

/**
 * Keeps what `load` gives for lots; the map is by lot id in the order of codes, and the same one as long as
 * nothing changed.
 * @param load values of the lots asked for; a lot without one is left out
 * @param keyOf what all values hang on beside the lot's own records; a new key makes all anew
 */
export function keepByLot<V>(
	load: (db: Reader, lotIds: readonly number[]) => Promise<ReadonlyMap<number, V>>,
	keyOf: (db: Reader) => Promise<string> = async () => ''
): KeptByLot<V> {
	const states = new WeakMap<Reader, Promise<State<V>>>();
	return async (db) => {
		const before = states.get(db)?.catch(() => null) ?? Promise.resolve(null);
		const now = before.then(async (had) => broughtUpToDate(db, had, await keyOf(db), load));
		states.set(db, now);
		return (await now).values;
	};
}

async function broughtUpToDate<V>(
	db: Reader,
	had: State<V> | null,
	key: string,
	load: (db: Reader, lotIds: readonly number[]) => Promise<ReadonlyMap<number, V>>
): Promise<State<V>> {
	const stamp = await newestActId(db);
	const isUsable = had !== null && had.key === key;
	if (isUsable && had.stamp === stamp) return had;
	const touched = isUsable ? await lotsTouchedSince(db, had.stamp) : 'all';
	if (touched !== 'all' && touched.length === 0) return { ...had!, stamp };
	const fresh = new Map<number, V>();
	const ids = await lotIds(db);
	const wanted = touched === 'all' ? ids : touched;
	for (let from = 0; from < wanted.length; from += LOTS_AT_ONCE) {
		if (from > 0) await new Promise((done) => setImmediate(done));
		const part = await load(db, wanted.slice(from, from + LOTS_AT_ONCE));
		for (const [id, value] of part) fresh.set(id, value);
	}
	const isFresh = new Set(wanted);
	const values = new Map<number, V>();
	for (const id of ids) {
		const value = isFresh.has(id) ? fresh.get(id) : had?.values.get(id);
		if (value !== undefined) values.set(id, value);
	}
	return { stamp, key, values };
}

/** Rules 1 and 2. */
async function lotsTouchedSince(db: Reader, stamp: number): Promise<readonly number[] | 'all'> {
	const rows = await db
		.selectDistinct({ lotId: audit.lotId, act: audit.act })
		.from(audit)
		.where(gt(audit.id, stamp));
	if (rows.some(({ lotId, act }) => lotId === null && !leavesLots(act))) return 'all';
	return [...new Set(rows.flatMap(({ lotId }) => lotId ?? []))];
}

async function lotIds(db: Reader): Promise<number[]> {
	return (await db.select({ id: lot.id }).from(lot).orderBy(asc(lot.code))).map(({ id }) => id);
}
