import { desc, eq } from 'drizzle-orm';
import type { DrumSettingsGiven } from '#lib/domain/drum/settings.ts';
import type { Reader } from '../db/client.ts';
import { colour, drumSetting } from '../db/schema.ts';

export type DrumSettingRow = typeof drumSetting.$inferSelect;
export type Colour = typeof colour.$inferSelect;

/** How each roaster's logs are read, by roaster id; one that isn't there takes every default. */
export async function loadDrumSettings(
	db: Reader
): Promise<ReadonlyMap<number, DrumSettingsGiven>> {
	const rows = await db.select().from(drumSetting).orderBy(drumSetting.version);
	return new Map(rows.map(({ roasterId, given }) => [roasterId, given]));
}

/** Every version of one roaster's settings, newest first. */
export async function loadDrumSettingVersions(
	db: Reader,
	roasterId: number
): Promise<DrumSettingRow[]> {
	return db
		.select()
		.from(drumSetting)
		.where(eq(drumSetting.roasterId, roasterId))
		.orderBy(desc(drumSetting.version));
}

/** Colour values of tests by test batch id, the last measured one each. */
export async function loadTestColours(db: Reader): Promise<ReadonlyMap<number, Colour>> {
	const rows = await db.select().from(colour).orderBy(colour.at, colour.id);
	return new Map(rows.flatMap((row) => (row.testBatchId === null ? [] : [[row.testBatchId, row]])));
}

/** Colour values of production batches by production id, the last measured one each. */
export async function loadProductionColours(db: Reader): Promise<ReadonlyMap<number, Colour>> {
	const rows = await db.select().from(colour).orderBy(colour.at, colour.id);
	return new Map(
		rows.flatMap((row) => (row.productionId === null ? [] : [[row.productionId, row]]))
	);
}
