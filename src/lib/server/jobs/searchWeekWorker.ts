/** Entry of the worker thread that searches a better plan: a connection of its own, nothing shared. */
import { Worker, parentPort, workerData } from 'node:worker_threads';
import { relaxedBound } from '#lib/domain/plan/bound.ts';
import { relaxedWeek } from '#lib/domain/plan/relaxed.ts';
import { openDatabase, type DatabaseOptions } from '../db/client.ts';
import type { PlanSearch } from '../store/planning.ts';
import type { SearchLeastWork } from './searchLeastWorker.ts';
import { searchWeek, type Proof } from './searchWeek.ts';

export interface SearchWeekWork extends DatabaseOptions {
	readonly week: string;
}

/** A relaxed week of more variables takes HiGHS minutes, if it gets there. */
const MOST_VARIABLES = 1000;
const MOST_SECONDS = 30;

/** A small week's least cost, proven in a thread of its own; that thread breaking proves nothing. */
function prove({ problem, weights }: PlanSearch): Proof | null {
	const relaxed = relaxedWeek(problem, weights);
	if (relaxed.variables > MOST_VARIABLES) return null;
	const work: SearchLeastWork = { relaxed, seconds: MOST_SECONDS };
	const worker = new Worker(new URL('searchLeastWorker.ts', import.meta.url), { workerData: work });
	const least = new Promise<number | null>((resolve) => {
		worker.once('message', resolve);
		worker.once('error', () => resolve(null));
		worker.once('exit', () => resolve(null));
	});
	return {
		bound: least.then((found) => (found === null ? null : relaxedBound(found))),
		stop: () => void worker.terminate()
	};
}

let isStopped = false;
parentPort!.on('message', () => (isStopped = true));

const { week, ...options } = workerData as SearchWeekWork;
const database = await openDatabase(options);
try {
	await searchWeek({ database, week, clock: Date.now, shouldStop: () => isStopped, prove });
} finally {
	await database.close();
	parentPort!.close();
}
