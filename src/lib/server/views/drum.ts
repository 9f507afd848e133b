import { FAULT_RULES, type FaultRule } from '#lib/domain/drum/faultRules.ts';
import { readDrum } from '#lib/domain/drum/read.ts';
import type { DrumReading, DrumSeries } from '#lib/domain/drum/reading.ts';
import type { DrumSettingsGiven } from '#lib/domain/drum/settings.ts';
import type { Outcome, Problem } from '#lib/domain/quantity/problem.ts';
import type { Reader } from '../db/client.ts';
import { loadDrumSettings } from '../store/drum.ts';
import { loadLog, loadLogFile } from '../store/logs.ts';
import { keepNewest, type Keep } from './keep.ts';
import { momentOf, type Moment } from './moment.ts';

/** A batch of a test or of production with its drum log. */
export interface LoggedBatch {
	readonly roasterId: number;
	readonly chargeG: number;
	readonly outG: number;
	readonly logId: number | null;
}

/** How the logs of each roaster are read, by roaster id. */
export type SettingsOfRoasters = ReadonlyMap<number, DrumSettingsGiven>;

/** A page of a recipe reads as many as this, and a little more; one is about 50 kB. */
const KEPT_READINGS = 200;

/** By connection: a log on record never changes, so its number stands for it. */
const kept = new WeakMap<Reader, Keep<Outcome<DrumReading>>>();

/**
 * Reads a batch's log by the settings of its roaster; null where it has none. The newest readings are kept
 * by the log, the masses and the settings that they come from.
 */
export async function readBatch(
	db: Reader,
	{ logId, roasterId, chargeG, outG }: LoggedBatch,
	settings: SettingsOfRoasters
): Promise<Outcome<DrumReading> | null> {
	if (logId === null) return null;
	const own = settings.get(roasterId);
	const keep = kept.get(db) ?? keepNewest(KEPT_READINGS);
	kept.set(db, keep);
	return keep(JSON.stringify([logId, chargeG, outG, own ?? null]), async () => {
		const log = await loadLog(db, logId);
		if (!log) throw new Error(`log ${logId} of a batch is missing`);
		return readDrum(log, { chargeG, outG, ...(own && { settings: own }) });
	});
}

/** `62.5 on the house scale`. */
export function colourText({ value, scale }: { value: number; scale: string }): string {
	return `${value} on ${scale}`;
}

/** A drum log as read, or why it can't be. */
export interface DrumView {
	readonly fileName: string;
	readonly rows: number;
	readonly recordedBy: string;
	readonly recorded: Moment;
	readonly notes: readonly string[];
	readonly reading: Omit<DrumReading, 'series'> | null;
	/** To four digits; null where the log has no value. */
	readonly series: DrumSeries | null;
	readonly rules: readonly FaultRule[];
	readonly problems: readonly Problem[];
}

/** The log of a batch for a page; null where it has none. */
export async function loadDrumView(
	db: Reader,
	batch: LoggedBatch,
	zone: string
): Promise<DrumView | null> {
	if (batch.logId === null) return null;
	const [file, settings] = await Promise.all([loadLogFile(db, batch.logId), loadDrumSettings(db)]);
	const read = await readBatch(db, batch, settings);
	if (!read || !file) throw new Error(`log ${batch.logId} of a batch is missing`);
	const about = {
		fileName: file.fileName.replace(/^.*\//, ''),
		rows: file.rows,
		recordedBy: file.by,
		recorded: momentOf(file.recordedAt, zone),
		notes: file.notes as readonly string[],
		rules: FAULT_RULES
	};
	if (!read.ok) return { ...about, reading: null, series: null, problems: read.problems };
	const { series, ...reading } = read.value;
	return { ...about, reading, series: lightened(series), problems: reading.problems };
}

type Column = readonly (number | null)[];

/** Values to four digits: what a chart can show, at a third of the weight in the page. */
export function light(values: Column): (number | null)[] {
	return values.map((v) => (v === null ? null : Number(v.toPrecision(4))));
}

function lightened(series: DrumSeries): DrumSeries {
	const orNull = (values: Column | null) => values && light(values);
	return {
		timeS: series.timeS,
		beanC: light(series.beanC),
		rorCMin: light(series.rorCMin),
		exhaustC: orNull(series.exhaustC),
		inletC: orNull(series.inletC),
		drumC: orNull(series.drumC),
		gasPct: orNull(series.gasPct),
		airPct: orNull(series.airPct),
		drumRpm: orNull(series.drumRpm)
	};
}
