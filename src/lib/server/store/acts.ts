import { asc, desc, eq, gt } from 'drizzle-orm';
import type { Reader } from '../db/client.ts';
import { audit } from '../db/schema.ts';
import type { AuditRow } from './lots.ts';

/** What was done after an instant, oldest first. */
export async function loadActsAfter(
	db: Reader,
	afterMs: number
): Promise<Pick<AuditRow, 'act' | 'at' | 'by' | 'detail'>[]> {
	return db
		.select({ act: audit.act, at: audit.at, by: audit.by, detail: audit.detail })
		.from(audit)
		.where(gt(audit.at, afterMs))
		.orderBy(asc(audit.at), asc(audit.id));
}

/** What was done by one verb, newest first, with what was kept about it. */
export async function loadActsOf(
	db: Reader,
	act: string,
	limit: number
): Promise<{ at: number; by: string; detail: unknown }[]> {
	return db
		.select({ at: audit.at, by: audit.by, detail: audit.detail })
		.from(audit)
		.where(eq(audit.act, act))
		.orderBy(desc(audit.at), desc(audit.id))
		.limit(limit);
}
