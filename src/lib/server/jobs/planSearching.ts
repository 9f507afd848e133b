/** The searches of this process, each in a worker thread of its own: they are arithmetic for a minute. */
import { Worker } from 'node:worker_threads';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Database, DatabaseOptions } from '../db/client.ts';
import { GONE_AFTER_MS, isSearching, loadUnendedSearches } from '../store/planning.ts';
import type { SearchWeekWork } from './searchWeekWorker.ts';
import { sourceFile } from './sourceFile.ts';

export interface PlanSearching {
	/** Starts the search that was put in place for a week. */
	start(week: string): void;
	/**
	 * Takes up the searches that a killed server left, each once its worker has been silent for so long that
	 * it is gone. A search goes by its seed and steps, so it ends where it would have.
	 */
	resume(database: Database, clock: () => InstantMs): Promise<void>;
	/** Why the last search of a week broke; null where it didn't. */
	failure(week: string): string | null;
	/** Stops all of them after the chunk under way. */
	stop(): Promise<void>;
}

const WORKER = 'src/lib/server/jobs/searchWeekWorker.ts';

export function planSearching(options: DatabaseOptions): PlanSearching {
	const running = new Map<Worker, Promise<void>>();
	const failures = new Map<string, string>();
	const weeks = new Set<string>();
	let again: NodeJS.Timeout | undefined;

	function start(week: string): void {
		failures.delete(week);
		weeks.add(week);
		const workerData: SearchWeekWork = { ...options, week };
		const worker = new Worker(sourceFile(WORKER), { workerData });
		worker.on('error', (error) =>
			failures.set(week, error instanceof Error ? error.message : 'unknown')
		);
		const ended = new Promise<void>((resolve) =>
			worker.once('exit', () => {
				running.delete(worker);
				weeks.delete(week);
				resolve();
			})
		);
		running.set(worker, ended);
	}

	async function resume(database: Database, clock: () => InstantMs): Promise<void> {
		const left = await loadUnendedSearches(database.orm);
		const mine = left.filter(({ week }) => !weeks.has(week));
		for (const { week } of mine.filter((one) => !isSearching(one, clock()))) start(week);
		if (!mine.some((one) => isSearching(one, clock()))) return;
		// Another process may still be at it; one that was killed stays silent.
		const later = () => void resume(database, clock).catch(() => undefined);
		again = setTimeout(later, GONE_AFTER_MS).unref();
	}

	return {
		...{ start, resume },
		failure: (week) => failures.get(week) ?? null,
		async stop() {
			clearTimeout(again);
			for (const worker of running.keys()) worker.postMessage('stop');
			await Promise.all(running.values());
		}
	};
}
