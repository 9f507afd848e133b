import { asc, count, desc, eq, inArray, isNull, and, sql } from 'drizzle-orm';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Reader } from '../db/client.ts';
import {
	intake,
	intakeFile,
	lot,
	mappingMemory,
	roaster,
	roastLog,
	sampleRoast,
	testBatch,
	testRoast
} from '../db/schema.ts';
import type { LogMapping, MappingMemory } from '../imports/mapping.ts';
import { loadBatchesByHash } from './batches.ts';

export type Intake = typeof intake.$inferSelect;

/** One uploaded file waiting to be committed. `about` holds the fields as typed. */
export interface IntakeFile {
	readonly id: number;
	readonly intakeId: number;
	readonly fileName: string;
	readonly sha256: string;
	readonly bytes: Uint8Array;
	readonly mapping: LogMapping | null;
	readonly about: Readonly<Record<string, string>>;
	readonly problems: readonly Problem[];
	readonly version: number;
}

/** Every mapping that a user has confirmed, oldest first. */
export async function loadMappingMemories(db: Reader): Promise<MappingMemory[]> {
	const rows = await db.select().from(mappingMemory).orderBy(asc(mappingMemory.usedAt));
	return rows.map((row) => ({ shape: row.shape, mapping: row.mapping as LogMapping }));
}

/** An intake and how many files it holds. */
export interface IntakeSummary extends Intake {
	readonly files: number;
}

/** Intakes, those still open first, then newest first. */
export async function loadIntakes(db: Reader, limit = 20): Promise<IntakeSummary[]> {
	const rows = await db
		.select({ intake, files: count(intakeFile.id) })
		.from(intake)
		.leftJoin(intakeFile, eq(intakeFile.intakeId, intake.id))
		.groupBy(intake.id)
		.orderBy(asc(sql`${intake.committedAt} is not null`), desc(intake.id))
		.limit(limit);
	return rows.map((row) => ({ ...row.intake, files: row.files }));
}

/** One intake, or null. */
export async function findIntake(db: Reader, intakeId: number): Promise<Intake | null> {
	return (await db.select().from(intake).where(eq(intake.id, intakeId)))[0] ?? null;
}

/** The files of an intake in the order they came. */
export async function loadIntakeFiles(db: Reader, intakeId: number): Promise<IntakeFile[]> {
	const rows = await db
		.select()
		.from(intakeFile)
		.where(eq(intakeFile.intakeId, intakeId))
		.orderBy(asc(intakeFile.id));
	return rows as IntakeFile[];
}

/** One file of an intake, or null. */
export async function findIntakeFile(db: Reader, fileId: number): Promise<IntakeFile | null> {
	const rows = await db.select().from(intakeFile).where(eq(intakeFile.id, fileId));
	return (rows[0] as IntakeFile | undefined) ?? null;
}

/** A log that is on record, and the roast it belongs to. */
export interface KnownLog {
	readonly sha256: string;
	readonly fileName: string;
	readonly sampleId: number | null;
	readonly lotCode: string;
	/** Null for a sample and for a production batch. */
	readonly testNumber: number | null;
	/** Null for all but a production batch. */
	readonly productionId: number | null;
}

/** The logs on record that came from the same bytes as any of these. */
export async function loadLogsByHash(
	db: Reader,
	hashes: readonly string[]
): Promise<Map<string, KnownLog>> {
	if (hashes.length === 0) return new Map();
	const samples = await db
		.select({
			sha256: roastLog.sha256,
			fileName: roastLog.fileName,
			sampleId: sampleRoast.id,
			lotCode: lot.code
		})
		.from(roastLog)
		.innerJoin(sampleRoast, eq(sampleRoast.logId, roastLog.id))
		.innerJoin(lot, eq(lot.id, sampleRoast.lotId))
		.where(inArray(roastLog.sha256, [...hashes]));
	const tests = await db
		.select({
			sha256: roastLog.sha256,
			fileName: roastLog.fileName,
			lotCode: lot.code,
			testNumber: testBatch.number
		})
		.from(roastLog)
		.innerJoin(testRoast, eq(testRoast.logId, roastLog.id))
		.innerJoin(testBatch, eq(testBatch.id, testRoast.testBatchId))
		.innerJoin(lot, eq(lot.id, testBatch.lotId))
		.where(inArray(roastLog.sha256, [...hashes]));
	const batches = await loadBatchesByHash(db, hashes);
	const none = { sampleId: null, testNumber: null, productionId: null };
	return new Map<string, KnownLog>(
		[...samples, ...tests, ...batches].map((row) => [row.sha256, { ...none, ...row }])
	);
}

/** A planned test that was not roasted yet. */
export interface WaitingTest {
	readonly testBatchId: number;
	readonly lot: string;
	readonly number: number;
	readonly chargeG: number;
	readonly roasterName: string;
}

/** Planned tests that wait for their roast, by lot and number. */
export async function loadWaitingTests(db: Reader): Promise<WaitingTest[]> {
	const rows = await db
		.select({ batch: testBatch, lot: lot.code, roasterName: roaster.name })
		.from(testBatch)
		.innerJoin(lot, eq(lot.id, testBatch.lotId))
		.innerJoin(roaster, eq(roaster.id, testBatch.roasterId))
		.leftJoin(testRoast, eq(testRoast.testBatchId, testBatch.id))
		.where(and(isNull(testBatch.withdrawnAt), isNull(testRoast.testBatchId)))
		.orderBy(asc(lot.code), asc(testBatch.number));
	return rows.map(({ batch, lot, roasterName }) => ({
		testBatchId: batch.id,
		lot,
		number: batch.number,
		chargeG: batch.settings.chargeG,
		roasterName
	}));
}
