import { eq } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { roastLog } from '../db/schema.ts';
import { sha256Hex } from '../imports/hash.ts';
import type { LogInput } from '../imports/parseLog.ts';
import { insertLogColumns } from '../store/logs.ts';
import type { Deed } from './act.ts';

/** Keeps a log with its original bytes. The same bytes twice are refused: they are the same roast. */
export async function storeLog(deed: Deed, input: LogInput): Promise<Outcome<{ logId: number }>> {
	const hash = sha256Hex(input.bytes);
	const same = await deed.tx
		.select({ fileName: roastLog.fileName })
		.from(roastLog)
		.where(eq(roastLog.sha256, hash));
	if (same[0])
		return bad({
			path: input.fileName,
			message: `The same bytes were taken in before as ${same[0].fileName}; no second roast is made.`
		});
	const rows = await deed.tx
		.insert(roastLog)
		.values({
			kind: input.log.kind,
			fileName: input.fileName,
			sha256: hash,
			bytes: Buffer.from(input.bytes),
			mapping: input.mapping,
			marks: input.log.marks,
			rows: input.log.timeS.length,
			notes: input.notes,
			recordedAt: deed.now,
			by: deed.by
		})
		.returning({ id: roastLog.id });
	const logId = rows[0]!.id;
	await insertLogColumns(deed.tx, logId, input.log);
	return good({ logId });
}
