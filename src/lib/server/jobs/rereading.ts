/** The one re-reading of this process, in a worker thread: the readings are arithmetic for minutes. */
import { Worker } from 'node:worker_threads';
import type { Database, DatabaseOptions } from '../db/client.ts';
import { countStale, loadRereadings } from '../store/readings.ts';
import { loadSite } from '../store/site.ts';
import { sourceFile } from './sourceFile.ts';
import type { RereadWork } from './rereadWorker.ts';

export interface RereadingJob {
	isRunning(): boolean;
	/** Why the last one ended before its end; null where it didn't. */
	failure(): string | null;
	/** Starts it unless it runs. */
	start(by: string): void;
	/** Starts it where a reading is by an older method, the logs aside that broke the reader last time. */
	startIfStale(database: Database, by: string): Promise<void>;
	/** Stops it after the batch under way. */
	stop(): Promise<void>;
}

const WORKER = 'src/lib/server/jobs/rereadWorker.ts';

export function rereadingJob(options: DatabaseOptions): RereadingJob {
	let worker: Worker | null = null;
	let ended: Promise<void> = Promise.resolve();
	let failure: string | null = null;

	function start(by: string): void {
		if (worker) return;
		failure = null;
		const workerData: RereadWork = { ...options, by };
		const started = new Worker(sourceFile(WORKER), { workerData });
		worker = started;
		started.on('error', (error) => (failure = error instanceof Error ? error.message : 'unknown'));
		ended = new Promise((resolve) =>
			started.once('exit', () => {
				worker = null;
				resolve();
			})
		);
	}

	return {
		isRunning: () => worker !== null,
		failure: () => failure,
		start,
		async startIfStale({ orm }, by) {
			if (!(await loadSite(orm))) return;
			const [stale, [last]] = await Promise.all([countStale(orm), loadRereadings(orm)]);
			const known = last?.finishedAt ? last.failed : 0;
			if (stale > known) start(by);
		},
		async stop() {
			worker?.postMessage('stop');
			await ended;
		}
	};
}
