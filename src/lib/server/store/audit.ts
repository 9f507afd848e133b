import {
	and,
	asc,
	count,
	desc,
	eq,
	gt,
	gte,
	inArray,
	lt,
	max,
	or,
	sql,
	type SQL
} from 'drizzle-orm';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Reader } from '../db/client.ts';
import { audit, lot } from '../db/schema.ts';

export interface AuditFilter {
	/** Part of the name on record or of the account's. */
	readonly who?: string;
	readonly act?: string;
	/** Code of a lot, whole. */
	readonly lot?: string;
	/** Number of a test of that lot. */
	readonly test?: number;
	readonly fromMs?: InstantMs;
	/** Not itself. */
	readonly toMs?: InstantMs;
	/** Part of what was kept about the act. */
	readonly text?: string;
}

export interface AuditEntry {
	readonly id: number;
	readonly at: InstantMs;
	readonly by: string;
	readonly userId: number | null;
	readonly actor: string;
	readonly act: string;
	readonly lotCode: string | null;
	readonly detail: Readonly<Record<string, unknown>>;
}

/** Acts that fit, newest first, and how many there are. */
export async function loadAuditPage(
	db: Reader,
	filter: AuditFilter,
	page: { readonly offset: number; readonly limit: number }
): Promise<{ total: number; entries: AuditEntry[] }> {
	const where = and(...conditions(filter));
	const counted = await db
		.select({ total: count() })
		.from(audit)
		.leftJoin(lot, eq(lot.id, audit.lotId))
		.where(where);
	const entries = await db
		.select({
			...{ id: audit.id, at: audit.at, by: audit.by, userId: audit.userId },
			...{ actor: audit.actor, act: audit.act, lotCode: lot.code },
			detail: audit.detail
		})
		.from(audit)
		.leftJoin(lot, eq(lot.id, audit.lotId))
		.where(where)
		.orderBy(desc(audit.at), desc(audit.id))
		.limit(page.limit)
		.offset(page.offset);
	return {
		total: counted[0]!.total,
		entries: entries.map(({ detail, ...entry }) => ({
			...entry,
			detail: detail as AuditEntry['detail']
		}))
	};
}

function conditions(filter: AuditFilter): SQL[] {
	const { who, act, lot: code, test, fromMs, toMs, text } = filter;
	const found: (SQL | undefined)[] = [
		who ? or(eq(audit.by, who), eq(audit.actor, who)) : undefined,
		act ? eq(audit.act, act) : undefined,
		code ? eq(lot.code, code) : undefined,
		test === undefined ? undefined : sql`json_extract(${audit.detail}, '$.number') = ${test}`,
		fromMs === undefined ? undefined : gte(audit.at, fromMs),
		toMs === undefined ? undefined : lt(audit.at, toMs),
		text ? containing(text) : undefined
	];
	return found.filter((each) => each !== undefined);
}

/** `%` and `_` of the text stand for themselves. */
function containing(text: string): SQL {
	const pattern = `%${text.replace(/[\\%_]/g, '\\$&')}%`;
	return sql`(${audit.detail} like ${pattern} escape '\\' or ${audit.act} like ${pattern} escape '\\' or ${lot.code} like ${pattern} escape '\\')`;
}

/** The number of the newest act on record, 0 before the first. */
export async function newestActId(db: Reader): Promise<number> {
	const [row] = await db.select({ id: max(audit.id) }).from(audit);
	return row?.id ?? 0;
}

/** An act, as far as whoever has a page open is told of it. */
export interface ActSince {
	readonly id: number;
	readonly at: InstantMs;
	/** Who did it: the account, or the name on record of what no account did. */
	readonly name: string;
	readonly act: string;
	/** Code of its lot. */
	readonly lot: string | null;
}

/** Acts after a number, oldest first, at most so many. */
export async function loadActsAfter(db: Reader, after: number, limit: number): Promise<ActSince[]> {
	const rows = await db
		.select({
			...{ id: audit.id, at: audit.at, by: audit.by, actor: audit.actor, act: audit.act },
			lot: lot.code
		})
		.from(audit)
		.leftJoin(lot, eq(lot.id, audit.lotId))
		.where(gt(audit.id, after))
		.orderBy(asc(audit.id))
		.limit(limit);
	return rows.map(({ by, actor, ...row }) => ({ ...row, name: actor || by }));
}

/** The newest of some acts whose detail holds these figures, by whom, when and what was kept about it. */
export async function loadLastAct(
	db: Reader,
	acts: readonly string[],
	figures: Readonly<Record<string, string | number>>
): Promise<{ name: string; at: InstantMs; detail: Record<string, unknown> } | null> {
	const held = Object.entries(figures).map(
		([key, value]) => sql`json_extract(${audit.detail}, ${`$.${key}`}) = ${value}`
	);
	const [row] = await db
		.select()
		.from(audit)
		.where(and(inArray(audit.act, [...acts]), ...held))
		.orderBy(desc(audit.id))
		.limit(1);
	if (!row) return null;
	const detail = row.detail as Record<string, unknown>;
	return { name: row.actor || row.by, at: row.at, detail };
}

/** Names that acts are recorded under or were done by, and the acts done, in their order. */
export async function loadAuditChoices(db: Reader): Promise<{ names: string[]; acts: string[] }> {
	const [by, actors, acts] = await Promise.all([
		db.selectDistinct({ name: audit.by }).from(audit),
		db.selectDistinct({ name: audit.actor }).from(audit),
		db.selectDistinct({ act: audit.act }).from(audit).orderBy(asc(audit.act))
	]);
	const names = new Set([...by, ...actors].map(({ name }) => name).filter((name) => name !== ''));
	return { names: [...names].sort(), acts: acts.map(({ act }) => act) };
}
