import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { intakeFile } from '../db/schema.ts';
import { MAX_LOG_BYTES } from '../imports/decode.ts';
import { guessAbout } from '../imports/guessAbout.ts';
import { sniffLog, type LogPreview } from '../imports/logFile.ts';
import { readLog } from '../imports/readLog.ts';
import { loadBatches, loadUnloggedTests } from '../store/batches.ts';
import { loadIntakeFiles, loadMappingMemories, loadWaitingTests } from '../store/intake.ts';
import { inputTime } from '../views/moment.ts';
import { loadLotEvents, loadLots } from '../store/lots.ts';
import { requireSite } from '../store/site.ts';
import { note, type Deed } from './act.ts';
import { requireOpenIntake } from './intakeFiles.ts';

/** So many files can be looked at together. */
export const MAX_INTAKE_FILES = 50;

/** Batches so long ago are not guessed at: 60 days. */
const GUESSED_WITHIN_MS = 60 * 86_400_000;

export interface IntakeFileInput {
	readonly intakeId: number;
	readonly fileName: string;
	readonly bytes: Uint8Array;
	/** A lot chosen before the files; null leaves it to the file's name. */
	readonly lotCode: string | null;
}

/**
 * Puts a file into an open intake: how it would be read and what it is about are guessed. A file that
 * can't be read stays, with its problems; one too large, or one too many, is refused.
 */
export async function addIntakeFile(
	deed: Deed,
	input: IntakeFileInput
): Promise<Outcome<{ fileId: number; rows: number; problems: readonly Problem[] }>> {
	const { intakeId, bytes } = input;
	const fileName = input.fileName.replace(/^.*[/\\]/, '').slice(0, 200) || 'unnamed.csv';
	const open = await requireOpenIntake(deed, intakeId);
	if (!open.ok) return open;
	const files = await loadIntakeFiles(deed.tx, intakeId);
	if (files.length >= MAX_INTAKE_FILES)
		return bad({
			path: fileName,
			message: `The intake holds ${files.length} files already, expected at most ${MAX_INTAKE_FILES}.`
		});
	if (bytes.length > MAX_LOG_BYTES)
		return bad({
			path: fileName,
			message: `Found ${(bytes.length / 1024 / 1024).toFixed(1)} MB, expected at most ${MAX_LOG_BYTES / 1024 / 1024} MB.`
		});
	const preview = sniffLog(bytes, fileName, await loadMappingMemories(deed.tx));
	const inserted = await deed.tx
		.insert(intakeFile)
		.values({
			intakeId,
			fileName,
			sha256: preview.sha256,
			bytes: Buffer.from(bytes),
			mapping: preview.mapping,
			about: await guessedAbout(deed, preview, bytes, input.lotCode),
			problems: preview.problems
		})
		.returning({ id: intakeFile.id });
	await note(deed, 'add a log file', null, { intakeId, file: fileName, sha256: preview.sha256 });
	return good({ fileId: inserted[0]!.id, rows: preview.rowCount, problems: preview.problems });
}

async function guessedAbout(
	deed: Deed,
	preview: LogPreview,
	bytes: Uint8Array,
	lotCode: string | null
): Promise<Record<string, string>> {
	const [site, lots, events, waiting, unlogged, batches] = await Promise.all([
		requireSite(deed.tx),
		loadLots(deed.tx),
		loadLotEvents(deed.tx),
		loadWaitingTests(deed.tx),
		loadUnloggedTests(deed.tx),
		loadBatches(deed.tx, { fromMs: deed.now - GUESSED_WITHIN_MS, unlogged: true })
	]);
	const read = preview.mapping ? readLog(bytes, preview.mapping, preview.fileName) : null;
	const marks = read?.ok ? read.value.log.marks : [];
	return guessAbout(preview, {
		lots: lots.map(({ id, code }) => ({ code, arrived: events.get(id)!.receivedAt !== null })),
		waiting,
		unlogged,
		batches: batches.map(({ batch, lotCode: lot }) => ({
			id: batch.id,
			lot,
			at: inputTime(batch.roastedAt, site.timeZone)
		})),
		lotCode: lots.some(({ code }) => code === lotCode) ? lotCode : null,
		by: deed.by,
		timeZone: site.timeZone,
		earCrackS: marks.find(({ name }) => name === 'firstCrackEar')?.timeS ?? null
	});
}
