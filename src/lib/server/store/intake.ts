import { asc, desc, eq } from 'drizzle-orm';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Reader } from '../db/client.ts';
import { intake, intakeFile, mappingMemory, roastLog } from '../db/schema.ts';
import type { LogMapping, MappingMemory } from '../imports/mapping.ts';

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

/** Intakes, newest first. */
export async function loadIntakes(db: Reader, limit = 20): Promise<Intake[]> {
	return db.select().from(intake).orderBy(desc(intake.id)).limit(limit);
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

/** The log that came from the same bytes, or null. */
export async function findLogByHash(
	db: Reader,
	sha256: string
): Promise<{ id: number; fileName: string } | null> {
	const rows = await db
		.select({ id: roastLog.id, fileName: roastLog.fileName })
		.from(roastLog)
		.where(eq(roastLog.sha256, sha256));
	return rows[0] ?? null;
}
