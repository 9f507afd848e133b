import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { correctMapping, likeMapping, sameMapping, type Correction } from '../imports/correct.ts';
import type { LogMapping } from '../imports/mapping.ts';
import { readLog } from '../imports/readLog.ts';
import { meaningText } from '../imports/useWords.ts';
import type { IntakeFile } from '../store/intake.ts';
import { note, type Deed } from './act.ts';
import { fileChanged, requireIntakeFile, updateFile } from './intakeFiles.ts';

export interface MappingInput {
	readonly intakeId: number;
	readonly fileId: number;
	/** As the person saw it. */
	readonly version: number;
	readonly correction: Correction;
	/** Whether the other files of the same shape are read in the same way. */
	readonly alsoSameShape: boolean;
}

/**
 * Corrects how a file is read and reads it anew. A mapping that can't be used (two columns of time) is
 * refused; one that can, but finds bad cells, is kept with the problems.
 * @returns how many files were changed, and the problems of this one
 */
export async function mapIntakeFile(
	deed: Deed,
	input: MappingInput
): Promise<Outcome<{ changed: number; problems: readonly Problem[] }>> {
	const found = await requireIntakeFile(deed, input.intakeId, input.fileId);
	if (!found.ok) return found;
	const { file, files } = found.value;
	if (file.mapping === null)
		return bad({ path: file.fileName, message: 'The file has no columns that could be named.' });
	const corrected = correctMapping(file.bytes, file.fileName, file.mapping, input.correction);
	if (!corrected.ok) return corrected;
	const mapping = corrected.value;
	if (file.version !== input.version && !sameMapping(mapping, file.mapping))
		return bad(fileChanged(file, differences(file.mapping, mapping)));
	const siblings = input.alsoSameShape
		? files.filter((each) => each.id !== file.id && each.mapping?.shape === mapping.shape)
		: [];
	await remap(deed, file, mapping);
	for (const each of siblings) await remap(deed, each, likeMapping(each.mapping!, mapping));
	await note(deed, 'correct how a log is read', null, {
		file: file.fileName,
		alsoFiles: siblings.map(({ fileName }) => fileName),
		columns: mapping.columns.map((column) => [column.heading, meaningText(column)])
	});
	const read = readLog(file.bytes, mapping, file.fileName);
	return good({ changed: siblings.length + 1, problems: read.ok ? [] : read.problems });
}

async function remap(deed: Deed, file: IntakeFile, mapping: LogMapping): Promise<void> {
	const read = readLog(file.bytes, mapping, file.fileName);
	await updateFile(deed, file, { mapping, problems: read.ok ? [] : read.problems });
}

/** What stands in the newest state and isn't what was sent. */
function differences(now: LogMapping, sent: LogMapping): string {
	const columns = now.columns.flatMap((column) => {
		const other = sent.columns.find(({ index }) => index === column.index);
		const text = meaningText(column);
		return other && meaningText(other) === text
			? []
			: [`${column.heading || `column ${column.index + 1}`} as ${text}`];
	});
	const kind = now.kind === sent.kind ? [] : [`${now.kind} roast`];
	return [...kind, ...columns].join(', ');
}
