import { eq } from 'drizzle-orm';
import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { intake, intakeFile } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { requireIntakeFile } from './intakeFiles.ts';

/**
 * Takes a file out of an open intake; nothing of it is on record yet. An intake without files is gone.
 * @returns how many files are left
 */
export async function removeIntakeFile(
	deed: Deed,
	input: { readonly intakeId: number; readonly fileId: number }
): Promise<Outcome<{ left: number }>> {
	const found = await requireIntakeFile(deed, input.intakeId, input.fileId);
	if (!found.ok) return found;
	const { file, files } = found.value;
	await deed.tx.delete(intakeFile).where(eq(intakeFile.id, file.id));
	const left = files.length - 1;
	if (left === 0) await deed.tx.delete(intake).where(eq(intake.id, input.intakeId));
	await note(deed, 'set a log file aside', null, { file: file.fileName, sha256: file.sha256 });
	return good({ left });
}
