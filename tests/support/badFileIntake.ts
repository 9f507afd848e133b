import type { Act } from '#lib/server/commands/act.ts';
import { perform } from '#lib/server/commands/act.ts';
import { addIntakeFile } from '#lib/server/commands/addIntakeFile.ts';
import { commitIntake } from '#lib/server/commands/commitIntake.ts';
import { describeIntakeFiles } from '#lib/server/commands/describeIntakeFiles.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { openIntake } from '#lib/server/commands/openIntake.ts';
import { loadIntakeFiles } from '#lib/server/store/intake.ts';
import { loadIntakePage } from '#lib/server/views/intake.ts';
import type { BadFile } from './badFiles.ts';
import type { Judged } from './badFileChecks.ts';
import { rowCounts } from './database.ts';
import { done } from './smallRoastery.ts';

/** What a bad log is said to be about; all but the file itself is right. */
const ABOUT = {
	kind: 'sample',
	stage: 'arrival',
	roasted_at: '2026-11-20T10:00',
	charge_g: '100',
	out_g: '86'
};

/**
 * Takes a bad file in through the acts of the pages, into a database that holds the lot `lotCode`. Rules: the
 * act answers; a refusal leaves every table as long as it was; the page of what is refused can be shown.
 */
export async function takeIn(act: Act, file: BadFile, lotCode: string): Promise<Judged> {
	try {
		return file.table === null ? await takeLog(act, file, lotCode) : await takeTable(act, file);
	} catch (error) {
		return { accepted: false, faults: [`threw ${String(error)}`] };
	}
}

async function takeTable(act: Act, { table, bytes }: BadFile): Promise<Judged> {
	const before = await rowCounts(act.database);
	const taken = await importTables(act, { tables: { [table!]: bytes }, logs: new Map() });
	if (taken.ok) return { accepted: true, faults: [] };
	return { accepted: false, faults: changed(before, await rowCounts(act.database)) };
}

async function takeLog(act: Act, file: BadFile, lotCode: string): Promise<Judged> {
	const { fileName, bytes } = file;
	const { intakeId } = done(await perform(act, openIntake));
	done(await perform(act, (deed) => addIntakeFile(deed, { intakeId, fileName, bytes, lotCode })));
	const [added] = await loadIntakeFiles(act.database.orm, intakeId);
	const about = { ...ABOUT, lot: lotCode };
	const described = done(
		await perform(act, (deed) =>
			describeIntakeFiles(deed, {
				intakeId,
				files: [{ fileId: added!.id, version: added!.version, about }]
			})
		)
	);
	const faults: string[] = [];
	if (!(await loadIntakePage(act.database.orm, intakeId))) faults.push('it has no page');
	const before = await rowCounts(act.database);
	const taken = await perform(act, (deed) => commitIntake(deed, { intakeId, versions: described }));
	const after = await rowCounts(act.database);
	if (!taken.ok) return { accepted: false, faults: [...faults, ...changed(before, after)] };
	if (after['roast_log'] !== before['roast_log']! + 1) faults.push('taken in without its log');
	return { accepted: true, faults };
}

function changed(before: Record<string, number>, after: Record<string, number>): string[] {
	return Object.keys(after)
		.filter((table) => after[table] !== before[table])
		.map((table) => `refused, yet ${table} has ${after[table]} rows after ${before[table]}`);
}
