import { asc, eq, sql } from 'drizzle-orm';
import type { SampleStage } from '#lib/domain/lot/lot.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { SampleReading } from '#lib/domain/release/reading.ts';
import type { Reader } from '../db/client.ts';
import { lot, reading, roastLog, sampleRoast } from '../db/schema.ts';

/** A reading without its curves. */
export type ReadingSummary = Omit<SampleReading, 'series'>;

/** A sample roast in a list. */
export interface SampleSummary {
	readonly id: number;
	readonly lotCode: string;
	readonly lotName: string;
	readonly lotKind: string;
	readonly producer: string;
	readonly stage: SampleStage;
	readonly roastedAt: number;
	readonly by: string;
	readonly earCrackS: number | null;
	readonly fileName: string;
	readonly method: string | null;
	/** Null where the log can't be read. */
	readonly reading: ReadingSummary | null;
	readonly problems: readonly Problem[];
}

/** Every sample roast with its reading, oldest first; the curves stay in the database. */
export async function loadSampleSummaries(db: Reader): Promise<SampleSummary[]> {
	const rows = await db
		.select({
			sample: sampleRoast,
			lotCode: lot.code,
			lotName: lot.name,
			lotKind: lot.kind,
			producer: lot.producer,
			fileName: roastLog.fileName,
			method: reading.method,
			summary: sql<string | null>`json_remove(${reading.result}, '$.series')`,
			problems: reading.problems
		})
		.from(sampleRoast)
		.innerJoin(lot, eq(lot.id, sampleRoast.lotId))
		.innerJoin(roastLog, eq(roastLog.id, sampleRoast.logId))
		.leftJoin(reading, eq(reading.sampleId, sampleRoast.id))
		.orderBy(asc(sampleRoast.roastedAt), asc(sampleRoast.id));
	return rows.map(({ sample, summary, problems, ...row }) => ({
		...row,
		id: sample.id,
		stage: sample.stage as SampleStage,
		roastedAt: sample.roastedAt,
		by: sample.by,
		earCrackS: sample.earCrackS,
		reading: summary === null ? null : (JSON.parse(summary) as ReadingSummary | null),
		problems: (problems ?? []) as Problem[]
	}));
}
