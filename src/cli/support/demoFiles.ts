import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { daysBetween, daysOfWeek, dayOf, weekOf } from '#lib/domain/quantity/week.ts';
import { TABLES, type TableFile } from '#lib/server/imports/tables.ts';
import type { RoasteryFiles } from '#lib/server/commands/importTables.ts';
import { ROOT } from './build.ts';

const FOLDER = join(ROOT, 'demo-data');

/**
 * The files of the demo roastery, to be moved so that the Monday they are anchored on becomes the Monday
 * of this week.
 * @param nowMs the moment of loading
 */
export function demoFiles(nowMs: number): RoasteryFiles {
	const tables: Partial<Record<TableFile, Uint8Array>> = {};
	for (const file of Object.keys(TABLES) as TableFile[])
		tables[file] = readFileSync(join(FOLDER, file));
	const logs = new Map<string, Uint8Array>();
	for (const path of readdirSync(join(FOLDER, 'logs'), { recursive: true, encoding: 'utf8' }))
		if (path.endsWith('.csv')) logs.set(`logs/${path}`, readFileSync(join(FOLDER, 'logs', path)));
	return { tables, logs, shiftDays: demoShiftDays(nowMs) };
}

/** Whole weeks from the anchor to this week, in days. */
function demoShiftDays(nowMs: number): number {
	const anchor = readFileSync(join(FOLDER, 'anchor.txt'), 'utf8').trim();
	const site = readFileSync(join(FOLDER, 'site.csv'), 'utf8');
	const zone = site.split(/\r?\n/)[1]!.split(',')[1]!;
	const monday = daysOfWeek(weekOf(dayOf(nowMs, zone)))[0]!;
	return daysBetween(anchor, monday);
}
