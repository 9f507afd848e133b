/** Entry of the worker thread that searches a better plan: a connection of its own, nothing shared. */
import { parentPort, workerData } from 'node:worker_threads';
import { openDatabase, type DatabaseOptions } from '../db/client.ts';
import { searchWeek } from './searchWeek.ts';

export interface SearchWeekWork extends DatabaseOptions {
	readonly week: string;
}

let isStopped = false;
parentPort!.on('message', () => (isStopped = true));

const { week, ...options } = workerData as SearchWeekWork;
const database = await openDatabase(options);
try {
	await searchWeek({ database, week, clock: Date.now, shouldStop: () => isStopped });
} finally {
	await database.close();
	parentPort!.close();
}
