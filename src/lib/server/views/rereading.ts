/** Reading logs again: which methods the readings are by, how far the worker is, what came out otherwise. */
import { changedFigures, type KeyFigures } from '#lib/domain/release/change.ts';
import { FINGERPRINT_METHOD } from '#lib/domain/release/fingerprint.ts';
import { READING_METHOD } from '#lib/domain/release/reading.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Reader } from '../db/client.ts';
import {
	countMethods,
	countStale,
	loadReadingChanges,
	loadRereadings,
	type Rereading
} from '../store/readings.ts';
import { requireSite } from '../store/site.ts';
import { momentOf, type Moment } from './moment.ts';
import { lotHref, sampleHref } from './places.ts';

/** What a change is looked for by. */
export const CHANGE_KINDS = ['verdict', 'crack', 'shares', 'broken'] as const;

export interface ChangesFilter {
	/** Null shows the newest re-reading. */
	readonly run: number | null;
	readonly kind: string;
	readonly q: string;
	readonly page: number;
}

export const CHANGES_A_PAGE = 50;

/** Silence of a worker, ms, after which it counts as stopped. */
const SILENT_MS = 15_000;

export interface RunView {
	readonly id: number;
	readonly method: string;
	readonly fingerprintMethod: string;
	readonly started: Moment;
	readonly by: string;
	readonly total: number;
	readonly done: number;
	readonly changed: number;
	readonly failed: number;
	readonly state: 'running' | 'stopped' | 'finished' | 'overtaken';
	/** Seconds spent reading, stops left out. */
	readonly spentS: number;
	readonly logsPerS: number | null;
	/** Seconds left at that rate; null unless it runs. */
	readonly leftS: number | null;
}

export interface ChangeView {
	readonly sampleId: number;
	readonly href: string;
	readonly lotCode: string;
	readonly lotHref: string;
	readonly stage: string;
	readonly fromMethod: string;
	readonly before: KeyFigures | null;
	readonly after: KeyFigures | null;
	readonly figures: readonly (keyof KeyFigures)[];
	readonly failure: string | null;
}

export async function loadReadingsPage(
	db: Reader,
	now: InstantMs,
	worker: { readonly isRunning: boolean; readonly failure: string | null },
	filter: ChangesFilter
) {
	const [site, methods, stale, runs] = await Promise.all([
		requireSite(db),
		countMethods(db),
		countStale(db),
		loadRereadings(db)
	]);
	const shown = runs.find(({ id }) => id === filter.run) ?? runs[0] ?? null;
	const changes = shown ? (await loadReadingChanges(db, shown.id)).map(changeView) : [];
	const found = changes.filter((change) => isWanted(change, filter));
	const pages = Math.max(1, Math.ceil(found.length / CHANGES_A_PAGE));
	const page = Math.min(filter.page, pages);
	return {
		method: READING_METHOD,
		fingerprintMethod: FINGERPRINT_METHOD,
		methods,
		stale,
		isRunning: worker.isRunning,
		failure: worker.failure,
		runs: runs.map((run) => runView(run, now, worker.isRunning, site.timeZone)),
		shown: shown?.id ?? null,
		changes: found.slice((page - 1) * CHANGES_A_PAGE, page * CHANGES_A_PAGE),
		found: found.length,
		all: changes.length,
		page,
		kinds: CHANGE_KINDS
	};
}

/** A re-reading as it stands; `isRunning` says that a worker of this process is at it. */
export function runView(run: Rereading, now: InstantMs, isRunning: boolean, zone: string): RunView {
	const state = stateOf(run, now, isRunning);
	const spentS = run.spentMs / 1000;
	const logsPerS = run.done > 0 && spentS > 0 ? run.done / spentS : null;
	const left = run.total - run.done - run.failed;
	return {
		...{ id: run.id, method: run.method, fingerprintMethod: run.fingerprintMethod, by: run.by },
		...{ total: run.total, done: run.done, changed: run.changed, failed: run.failed },
		started: momentOf(run.startedAt, zone),
		state,
		spentS,
		logsPerS,
		leftS: state === 'running' && logsPerS !== null ? left / logsPerS : null
	};
}

function stateOf(run: Rereading, now: InstantMs, isRunning: boolean): RunView['state'] {
	if (run.finishedAt !== null) return run.done + run.failed < run.total ? 'overtaken' : 'finished';
	return isRunning || now - run.seenAt < SILENT_MS ? 'running' : 'stopped';
}

type ChangeRow = Awaited<ReturnType<typeof loadReadingChanges>>[number];

function changeView({ change, lotCode, stage }: ChangeRow): ChangeView {
	return {
		sampleId: change.sampleId,
		href: sampleHref(change.sampleId),
		lotCode,
		lotHref: lotHref(lotCode),
		stage,
		fromMethod: change.fromMethod,
		before: change.before,
		after: change.after,
		figures: change.failure === null ? changedFigures(change.before, change.after) : [],
		failure: change.failure
	};
}

const KIND_FIGURES: Readonly<Record<string, readonly (keyof KeyFigures)[]>> = {
	verdict: ['verdict'],
	crack: ['peakS', 'temperatureC'],
	shares: ['early', 'middle', 'around', 'after']
};

function isWanted({ figures, failure, lotCode }: ChangeView, { kind, q }: ChangesFilter): boolean {
	if (!lotCode.toLowerCase().includes(q.toLowerCase())) return false;
	if (kind === 'broken') return failure !== null;
	const wanted = KIND_FIGURES[kind];
	return wanted === undefined || wanted.some((figure) => figures.includes(figure));
}
