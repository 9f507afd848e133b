import type { Reader } from '../db/client.ts';
import { roastLog } from '../db/schema.ts';

/** The file name of every log, by log id. */
export async function loadLogNames(db: Reader): Promise<Map<number, string>> {
	const rows = await db.select({ id: roastLog.id, fileName: roastLog.fileName }).from(roastLog);
	return new Map(rows.map((row) => [row.id, row.fileName]));
}
