/** Entry of the worker thread that reads logs again: a connection of its own, nothing shared. */
import { parentPort, workerData } from 'node:worker_threads';
import { openDatabase, type DatabaseOptions } from '../db/client.ts';
import { reread } from './reread.ts';

export interface RereadWork extends DatabaseOptions {
	readonly by: string;
}

let isStopped = false;
parentPort!.on('message', () => (isStopped = true));

const { by, ...options } = workerData as RereadWork;
const database = await openDatabase(options);
try {
	await reread({ database, by, clock: Date.now, shouldStop: () => isStopped });
} finally {
	await database.close();
	parentPort!.close();
}
