/** Entry of the worker thread that solves a relaxed week: it blocks for as long as that takes. */
import { parentPort, workerData } from 'node:worker_threads';
import type { RelaxedWeek } from '#lib/domain/plan/relaxed.ts';
import { provenLeast } from './searchLeast.ts';

export interface SearchLeastWork {
	readonly relaxed: RelaxedWeek;
	readonly seconds: number;
}

const { relaxed, seconds } = workerData as SearchLeastWork;
parentPort!.postMessage(await provenLeast(relaxed, seconds));
