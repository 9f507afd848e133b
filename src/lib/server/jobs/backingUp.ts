import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { Worker } from 'node:worker_threads';
import { actorMay, actRefusal } from '#lib/domain/access/rights.ts';
import { bad, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { Copied } from '../backup/copy.ts';
import { backupFolder, backupName, dropOldBackups } from '../backup/names.ts';
import { perform, type Act } from '../commands/act.ts';
import { keepBackup } from '../commands/keepBackup.ts';
import type { BackupWork } from './backupWorker.ts';
import { KEPT_BACKUPS } from '../settings.ts';
import { sourceFile } from './sourceFile.ts';

const WORKER = 'src/lib/server/jobs/backupWorker.ts';

/**
 * Copies the database into `backups` beside it, in a thread of its own, and notes it once the copy was
 * opened and found whole.
 * @param url address of the database
 * @param keep how many copies stay; the oldest are removed once the new one was found whole
 */
export async function makeBackup(
	act: Act,
	url: string,
	keep: number = KEPT_BACKUPS
): Promise<Outcome<{ file: string }>> {
	if (!actorMay(act.actor, 'make backup'))
		return bad({ path: 'right', message: actRefusal(act.actor, 'make backup') });
	const folder = backupFolder(url);
	if (folder === null)
		return bad({
			path: 'backup',
			message: 'The database is on a server: copy it there, or take `npm run export`.'
		});
	const file = backupName(act.now);
	try {
		mkdirSync(folder, { recursive: true });
	} catch (error) {
		const reason = error instanceof Error ? error.message : String(error);
		return bad({ path: 'backup', message: `${folder} could not be made: ${reason}.` });
	}
	const copied = await inWorker({ url, target: join(folder, file) });
	if (!copied.ok) return copied;
	const { bytes, rows } = copied.value;
	const records = Object.values(rows).reduce((sum, each) => sum + each, 0);
	const removed = dropOldBackups(url, keep);
	return perform(act, (deed) => keepBackup(deed, { file, bytes, records, removed }));
}

function inWorker(workerData: BackupWork): Promise<Outcome<Copied>> {
	return new Promise((resolve, reject) => {
		const worker = new Worker(sourceFile(WORKER), { workerData });
		worker.once('message', resolve);
		worker.once('error', reject);
		worker.once('exit', () => reject(new Error('The copy ended before it was done.')));
	});
}
