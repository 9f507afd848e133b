import { asc, eq } from 'drizzle-orm';
import type { Channel, LogKind, Mark, RoastLog } from '#lib/domain/curve/log.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { SampleReading } from '#lib/domain/release/reading.ts';
import type { Reader, Tx } from '../db/client.ts';
import { lot, reading, roastLog, roastLogColumn, sampleRoast } from '../db/schema.ts';

export type SampleRoast = typeof sampleRoast.$inferSelect;
export type LogFile = Pick<
	typeof roastLog.$inferSelect,
	'id' | 'kind' | 'fileName' | 'sha256' | 'rows' | 'notes' | 'mapping' | 'recordedAt' | 'by'
>;

/** A sample roast with its reading; `result` is null where the log could not be read. */
export interface SampleRecord {
	readonly sample: SampleRoast;
	readonly lotCode: string;
	readonly lotName: string;
	readonly lotKind: string;
	readonly fileName: string;
	readonly method: string | null;
	readonly result: SampleReading | null;
	readonly problems: readonly Problem[];
}

const TIME = 'timeS';

/** Keeps a log's columns as Float32 beside its file. */
export async function insertLogColumns(tx: Tx, logId: number, log: RoastLog): Promise<void> {
	const columns: [string, Float64Array][] = [
		[TIME, log.timeS],
		...(Object.entries(log.channels) as [Channel, Float64Array][])
	];
	await tx.insert(roastLogColumn).values(
		columns.map(([channel, values]) => ({
			logId,
			channel,
			values: Buffer.from(Float32Array.from(values).buffer)
		}))
	);
}

/** A stored log, or null when there is none of that id. */
export async function loadLog(db: Reader, logId: number): Promise<RoastLog | null> {
	const [files, columns] = await Promise.all([
		db
			.select({ kind: roastLog.kind, marks: roastLog.marks })
			.from(roastLog)
			.where(eq(roastLog.id, logId)),
		db.select().from(roastLogColumn).where(eq(roastLogColumn.logId, logId))
	]);
	const file = files[0];
	if (!file) return null;
	const channels: Partial<Record<Channel, Float64Array>> = {};
	let timeS = new Float64Array();
	for (const column of columns) {
		const values = readFloats(column.values);
		if (column.channel === TIME) timeS = values;
		else channels[column.channel as Channel] = values;
	}
	return { kind: file.kind as LogKind, timeS, channels, marks: file.marks as Mark[] };
}

function readFloats(bytes: Uint8Array): Float64Array<ArrayBuffer> {
	const copy = new Uint8Array(bytes);
	return Float64Array.from(new Float32Array(copy.buffer, 0, copy.byteLength / 4));
}

/** What is known about a log's file, without its bytes. */
export async function loadLogFile(db: Reader, logId: number): Promise<LogFile | null> {
	const rows = await db
		.select({
			id: roastLog.id,
			kind: roastLog.kind,
			fileName: roastLog.fileName,
			sha256: roastLog.sha256,
			rows: roastLog.rows,
			notes: roastLog.notes,
			mapping: roastLog.mapping,
			recordedAt: roastLog.recordedAt,
			by: roastLog.by
		})
		.from(roastLog)
		.where(eq(roastLog.id, logId));
	return rows[0] ?? null;
}

/** The original bytes of a log's file. */
export async function loadLogBytes(
	db: Reader,
	logId: number
): Promise<{ fileName: string; bytes: Uint8Array } | null> {
	const rows = await db
		.select({ fileName: roastLog.fileName, bytes: roastLog.bytes })
		.from(roastLog)
		.where(eq(roastLog.id, logId));
	return rows[0] ?? null;
}

/** Sample roasts with their readings, oldest first; one lot's or one sample's where asked. */
export async function loadSamples(
	db: Reader,
	only: { lotId?: number; sampleId?: number } = {}
): Promise<SampleRecord[]> {
	const where =
		only.sampleId !== undefined
			? eq(sampleRoast.id, only.sampleId)
			: only.lotId !== undefined
				? eq(sampleRoast.lotId, only.lotId)
				: undefined;
	const rows = await db
		.select({ sample: sampleRoast, lot, fileName: roastLog.fileName, reading })
		.from(sampleRoast)
		.innerJoin(lot, eq(lot.id, sampleRoast.lotId))
		.innerJoin(roastLog, eq(roastLog.id, sampleRoast.logId))
		.leftJoin(reading, eq(reading.sampleId, sampleRoast.id))
		.where(where)
		.orderBy(asc(sampleRoast.roastedAt), asc(sampleRoast.id));
	return rows.map((row) => ({
		sample: row.sample,
		lotCode: row.lot.code,
		lotName: row.lot.name,
		lotKind: row.lot.kind,
		fileName: row.fileName,
		method: row.reading?.method ?? null,
		result: (row.reading?.result ?? null) as SampleReading | null,
		problems: (row.reading?.problems ?? []) as Problem[]
	}));
}
