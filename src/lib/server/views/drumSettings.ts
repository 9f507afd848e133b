import { FAULT_RULES, type FaultThresholds } from '#lib/domain/drum/faultRules.ts';
import {
	DEFAULT_SETTINGS,
	drumSettings,
	type DrumSettings,
	type DrumSettingsGiven
} from '#lib/domain/drum/settings.ts';
import type { Reader } from '../db/client.ts';
import { loadDrumSettingVersions } from '../store/drum.ts';
import { loadRoasters, requireSite } from '../store/site.ts';
import { momentOf, type Moment } from './moment.ts';

/** Every setting of how a drum log is read; thresholds of faults beside the others. */
export type DrumSettingName = Exclude<keyof DrumSettings, 'thresholds'> | keyof FaultThresholds;
export type DrumSettingValues = Readonly<Record<DrumSettingName, number>>;

/** All settings in one layer, as a form has them. */
export function flatSettings({ thresholds, ...rest }: DrumSettings): DrumSettingValues {
	return { ...rest, ...thresholds };
}

/** The other way: what a form gives as settings. */
export function givenSettings(values: DrumSettingValues): DrumSettingsGiven {
	const names = FAULT_RULES.flatMap((rule) => rule.thresholds.map(({ key }) => key));
	const isThreshold = (name: string) => (names as readonly string[]).includes(name);
	const entries = Object.entries(values);
	return {
		...Object.fromEntries(entries.filter(([name]) => !isThreshold(name))),
		thresholds: Object.fromEntries(entries.filter(([name]) => isThreshold(name)))
	};
}

export interface DrumSettingsVersion {
	readonly version: number;
	readonly at: Moment;
	readonly by: string;
	readonly reason: string;
	/** What stands otherwise than in the version before; the defaults come before the first. */
	readonly changes: readonly {
		readonly name: DrumSettingName;
		readonly from: number;
		readonly to: number;
	}[];
}

export interface DrumSettingsPage {
	readonly id: number;
	readonly code: string;
	readonly name: string;
	/** 0 while every default holds. */
	readonly version: number;
	readonly values: DrumSettingValues;
	readonly defaults: DrumSettingValues;
	/** Newest first. */
	readonly versions: readonly DrumSettingsVersion[];
}

/** How one roaster's logs are read, with every earlier version; null when there is no such roaster. */
export async function loadDrumSettingsPage(
	db: Reader,
	code: string
): Promise<DrumSettingsPage | null> {
	const [site, roasters] = await Promise.all([requireSite(db), loadRoasters(db)]);
	const roaster = roasters.find((each) => each.code === code);
	if (!roaster) return null;
	const rows = await loadDrumSettingVersions(db, roaster.id);
	const valuesOf = (given: DrumSettingsGiven | undefined): DrumSettingValues => {
		const settings = drumSettings(given);
		if (!settings.ok) throw new Error(`kept settings of ${code} don't hold`);
		return flatSettings(settings.value);
	};
	return {
		id: roaster.id,
		code,
		name: roaster.name,
		version: rows[0]?.version ?? 0,
		values: valuesOf(rows[0]?.given),
		defaults: flatSettings(DEFAULT_SETTINGS),
		versions: rows.map((row, i) => ({
			version: row.version,
			at: momentOf(row.at, site.timeZone),
			by: row.by,
			reason: row.reason,
			changes: differences(valuesOf(rows[i + 1]?.given), valuesOf(row.given))
		}))
	};
}

function differences(
	before: DrumSettingValues,
	after: DrumSettingValues
): DrumSettingsVersion['changes'] {
	const names = Object.keys(after) as DrumSettingName[];
	return names
		.filter((name) => before[name] !== after[name])
		.map((name) => ({ name, from: before[name], to: after[name] }));
}
