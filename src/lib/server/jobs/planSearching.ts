/** The searches of this process, each in a worker thread of its own: they are arithmetic for a minute. */
import { Worker } from 'node:worker_threads';
import type { DatabaseOptions } from '../db/client.ts';
import type { SearchWeekWork } from './searchWeekWorker.ts';
import { sourceFile } from './sourceFile.ts';

export interface PlanSearching {
	/** Starts the search that was put in place for a week. */
	start(week: string): void;
	/** Why the last search of a week broke; null where it didn't. */
	failure(week: string): string | null;
	/** Stops all of them after the chunk under way. */
	stop(): Promise<void>;
}

const WORKER = 'src/lib/server/jobs/searchWeekWorker.ts';

export function planSearching(options: DatabaseOptions): PlanSearching {
	const running = new Map<Worker, Promise<void>>();
	const failures = new Map<string, string>();
	return {
		start(week) {
			failures.delete(week);
			const workerData: SearchWeekWork = { ...options, week };
			const worker = new Worker(sourceFile(WORKER), { workerData });
			worker.on('error', (error) =>
				failures.set(week, error instanceof Error ? error.message : 'unknown')
			);
			const ended = new Promise<void>((resolve) =>
				worker.once('exit', () => {
					running.delete(worker);
					resolve();
				})
			);
			running.set(worker, ended);
		},
		failure: (week) => failures.get(week) ?? null,
		async stop() {
			for (const worker of running.keys()) worker.postMessage('stop');
			await Promise.all(running.values());
		}
	};
}
