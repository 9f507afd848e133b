import type { Reader } from '../db/client.ts';
import { requireSite } from '../store/site.ts';
import { momentOf, type Moment } from './moment.ts';

export interface BackupRow {
	readonly name: string;
	readonly bytes: number;
	readonly made: Moment;
}

/** A copy that lies on the server. */
interface BackupFile {
	readonly name: string;
	readonly bytes: number;
	/** UTC milliseconds. */
	readonly madeAt: number;
}

/** The copies on the server, newest first, dated at the site. */
export async function loadBackups(db: Reader, files: readonly BackupFile[]): Promise<BackupRow[]> {
	const { timeZone } = await requireSite(db);
	return files.map(({ name, bytes, madeAt }) => ({
		name,
		bytes,
		made: momentOf(madeAt, timeZone)
	}));
}
