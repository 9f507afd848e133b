import { eq } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { intakeFile } from '../db/schema.ts';
import { findIntake, loadIntakeFiles, type Intake, type IntakeFile } from '../store/intake.ts';
import type { Deed } from './act.ts';

/** The intake while it can still be changed. */
export async function requireOpenIntake(deed: Deed, intakeId: number): Promise<Outcome<Intake>> {
	const found = await findIntake(deed.tx, intakeId);
	if (!found) return bad({ path: 'intake', message: 'There is no such intake.' });
	if (found.committedAt !== null)
		return bad({ path: 'intake', message: 'This intake was taken in already.' });
	return good(found);
}

/** A file of an open intake together with all of the intake's files. */
export async function requireIntakeFile(
	deed: Deed,
	intakeId: number,
	fileId: number
): Promise<Outcome<{ file: IntakeFile; files: readonly IntakeFile[] }>> {
	const open = await requireOpenIntake(deed, intakeId);
	if (!open.ok) return open;
	const files = await loadIntakeFiles(deed.tx, intakeId);
	const file = files.find(({ id }) => id === fileId);
	return file
		? good({ file, files })
		: bad({ path: 'file', message: 'There is no such file in this intake any more.' });
}

/** Tells the second writer of a file, with what is there now; '' when that is for the page to show. */
export function fileChanged({ fileName }: IntakeFile, now: string): Problem {
	const message =
		'The file was changed by someone else while you were editing. Your input is kept; look at what is there now and save again to replace it.';
	return { path: fileName, message: now === '' ? message : `${message} Now: ${now}.` };
}

/** Writes what changed of a file and raises its version. */
export async function updateFile(
	deed: Deed,
	file: IntakeFile,
	change: Partial<Pick<typeof intakeFile.$inferInsert, 'about' | 'mapping' | 'problems'>>
): Promise<number> {
	const version = file.version + 1;
	await deed.tx
		.update(intakeFile)
		.set({ ...change, version })
		.where(eq(intakeFile.id, file.id));
	return version;
}
