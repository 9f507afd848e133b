import { desc, eq } from 'drizzle-orm';
import {
	DEFAULT_SETTINGS,
	drumSettings,
	type DrumSettingsGiven
} from '#lib/domain/drum/settings.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { drumSetting, roaster } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';
import { versionProblem, type SeenVersion } from './versions.ts';

export interface DrumSettingsInput {
	readonly roasterId: number;
	/** What is not given takes the default. */
	readonly given: DrumSettingsGiven;
	readonly reason: string;
}

/**
 * Sets how a roaster's drum logs are read, thresholds of faults included, as a new version. What equals a
 * default is not kept, so that it follows the default. Problem paths are names of settings.
 */
export async function saveDrumSettings(
	deed: Deed,
	input: DrumSettingsInput,
	seen: SeenVersion = null
): Promise<Outcome<{ version: number }>> {
	const { roasterId, reason } = input;
	const found = (await deed.tx.select().from(roaster).where(eq(roaster.id, roasterId)))[0];
	if (!found) return bad({ path: 'roaster', message: 'There is no such roaster.' });
	const last = await deed.tx
		.select({ version: drumSetting.version, given: drumSetting.given })
		.from(drumSetting)
		.where(eq(drumSetting.roasterId, roasterId))
		.orderBy(desc(drumSetting.version))
		.limit(1);
	const before = last[0]?.version ?? 0;
	const checked = drumSettings(input.given);
	if (!checked.ok) return checked;
	const conflict = await versionProblem(deed, `How logs of ${found.code} are read`, seen, before, {
		acts: ['save log settings'],
		detail: { roaster: found.code }
	});
	if (conflict) return bad({ ...conflict, path: 'version' });
	const given = withoutDefaults(input.given);
	const version = before + 1;
	await deed.tx
		.insert(drumSetting)
		.values({ roasterId, version, given, reason: reason.trim(), at: deed.now, by: deed.by });
	await note(deed, 'save log settings', null, {
		...{ roaster: found.code, version, reason },
		...changed(last[0]?.given ?? {}, given)
	});
	return good({ version });
}

/** Every setting of either, thresholds by their names; what is not given follows the default. */
function changed(before: DrumSettingsGiven, after: DrumSettingsGiven) {
	const flat = ({ thresholds = {}, ...rest }: DrumSettingsGiven): Record<string, unknown> => ({
		...rest,
		...thresholds
	});
	const [was, is] = [flat(before), flat(after)];
	const names = [...new Set([...Object.keys(was), ...Object.keys(is)])];
	const all = (of: Record<string, unknown>) =>
		Object.fromEntries(names.map((name) => [name, of[name] ?? 'as usual']));
	return changes(all(was), all(is));
}

function withoutDefaults({ thresholds = {}, ...rest }: DrumSettingsGiven): DrumSettingsGiven {
	const { thresholds: usual, ...usualRest } = DEFAULT_SETTINGS;
	const other = differing(rest, usualRest);
	const limits = differing(thresholds, usual);
	return Object.keys(limits).length > 0 ? { ...other, thresholds: limits } : other;
}

function differing<T extends object>(given: Partial<T>, usual: T): Partial<T> {
	const names = Object.keys(given) as (keyof T)[];
	return Object.fromEntries(
		names.filter((name) => given[name] !== usual[name]).map((name) => [name, given[name]])
	) as Partial<T>;
}
