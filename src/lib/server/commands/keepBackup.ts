import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { note, type Deed } from './act.ts';

/** Notes that a copy of the database was made. */
export async function keepBackup(
	deed: Deed,
	copy: {
		readonly file: string;
		readonly bytes: number;
		readonly records: number;
		/** Older copies that made way. */
		readonly removed: readonly string[];
	}
): Promise<Outcome<{ file: string }>> {
	const { removed, ...made } = copy;
	await note(deed, 'make backup', null, {
		...made,
		...(removed.length > 0 ? { removed: removed.join(', ') } : {})
	});
	return good({ file: copy.file });
}

/** Notes that a copy left the server: it holds everything. */
export async function takeBackupAway(deed: Deed, file: string): Promise<Outcome<{ file: string }>> {
	await note(deed, 'download backup', null, { file });
	return good({ file });
}
