import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { ABOUT_FIELDS, ABOUT_WORDS } from '../imports/aboutFile.ts';
import { loadIntakeFiles, type IntakeFile } from '../store/intake.ts';
import { note, type Deed } from './act.ts';
import { fileChanged, requireOpenIntake, updateFile } from './intakeFiles.ts';

export interface FileDescription {
	readonly fileId: number;
	/** As the person saw it. */
	readonly version: number;
	/** Fields as typed; one that isn't given keeps its value. */
	readonly about: Readonly<Record<string, string>>;
}

/**
 * Keeps what was typed about the files of an intake, right or wrong. A file that someone else has changed
 * refuses the whole, unless it says the same.
 * @returns versions by file id, for whoever goes on with what was just saved
 */
export async function describeIntakeFiles(
	deed: Deed,
	input: { readonly intakeId: number; readonly files: readonly FileDescription[] }
): Promise<Outcome<ReadonlyMap<number, number>>> {
	const open = await requireOpenIntake(deed, input.intakeId);
	if (!open.ok) return open;
	const stored = await loadIntakeFiles(deed.tx, input.intakeId);
	const problems: Problem[] = [];
	const versions = new Map<number, number>();
	for (const { fileId, version, about } of input.files) {
		const file = stored.find(({ id }) => id === fileId);
		if (!file) {
			problems.push({ path: 'file', message: 'A file was removed by someone else meanwhile.' });
			continue;
		}
		const changes = changesOf(file, about);
		if (file.version !== version && changes.length > 0)
			problems.push(fileChanged(file, changes.map((field) => nowText(file, field)).join(', ')));
		else versions.set(fileId, await keep(deed, file, about, changes));
	}
	return problems.length > 0 ? bad(...problems) : good(versions);
}

function changesOf({ about: kept }: IntakeFile, about: Readonly<Record<string, string>>): string[] {
	return ABOUT_FIELDS.filter(
		(field) => about[field] !== undefined && about[field].trim() !== (kept[field] ?? '').trim()
	);
}

function nowText({ about }: IntakeFile, field: string): string {
	return `${ABOUT_WORDS[field] ?? field} ${about[field] ? `'${about[field]}'` : 'blank'}`;
}

async function keep(
	deed: Deed,
	file: IntakeFile,
	about: Readonly<Record<string, string>>,
	changes: readonly string[]
): Promise<number> {
	if (changes.length === 0) return file.version;
	const changed = Object.fromEntries(
		changes.map((field) => [field, about[field]!.trim().slice(0, 2000)])
	);
	const before = Object.fromEntries(changes.map((field) => [field, file.about[field] ?? '']));
	await note(deed, 'describe a log file', null, { file: file.fileName, before, after: changed });
	return updateFile(deed, file, { about: { ...file.about, ...changed } });
}
