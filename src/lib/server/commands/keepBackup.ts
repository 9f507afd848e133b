import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { note, type Deed } from './act.ts';

/** Notes that a copy of the database was made. */
export async function keepBackup(
	deed: Deed,
	copy: { readonly file: string; readonly bytes: number; readonly records: number }
): Promise<Outcome<{ file: string }>> {
	await note(deed, 'make backup', null, { ...copy });
	return good({ file: copy.file });
}

/** Notes that a copy left the server: it holds everything. */
export async function takeBackupAway(deed: Deed, file: string): Promise<Outcome<{ file: string }>> {
	await note(deed, 'download backup', null, { file });
	return good({ file });
}
