/** Entry of the worker thread that copies the database: a large one takes seconds, and pages go on. */
import { parentPort, workerData } from 'node:worker_threads';
import { copyDatabase } from '../backup/copy.ts';

export interface BackupWork {
	readonly url: string;
	readonly target: string;
}

const { url, target } = workerData as BackupWork;
parentPort!.postMessage(await copyDatabase(url, target));
