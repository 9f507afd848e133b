import { eq } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { intake, intakeFile, mappingMemory } from '../db/schema.ts';
import { instantOf } from '../imports/cells.ts';
import { sameMapping } from '../imports/correct.ts';
import { remember, sniffLog } from '../imports/logFile.ts';
import { logInput, type LogInput } from '../imports/parseLog.ts';
import { loadBatches } from '../store/batches.ts';
import { loadIntakeFiles, loadMappingMemories, type IntakeFile } from '../store/intake.ts';
import {
	fileProblems,
	loadIntakeContext,
	understandAbout,
	type IntakeContext,
	type Understood
} from '../views/intake.ts';
import { note, type Deed } from './act.ts';
import { addProductionLog, addTestLog } from './addLog.ts';
import { fileChanged, requireOpenIntake } from './intakeFiles.ts';
import { recordProduction } from './recordProduction.ts';
import { recordSample } from './recordSample.ts';
import { recordTestRoast } from './recordTestRoast.ts';

/** A file that can be recorded. */
interface Ready {
	readonly file: IntakeFile;
	readonly log: LogInput;
	readonly understood: Understood;
	readonly roastedAt: InstantMs;
}

export interface TakenFile {
	readonly fileName: string;
	/** Null for a roast that is no sample. */
	readonly sampleId: number | null;
}

/**
 * Takes in every file of an intake, all or nothing, each by the mapping that its preview showed. Problem
 * paths begin with the file's name. A mapping that a person corrected is remembered for the next file of
 * its shape.
 * @param input.versions the version of each file as the person saw it, by file id
 */
export async function commitIntake(
	deed: Deed,
	input: { readonly intakeId: number; readonly versions: ReadonlyMap<number, number> }
): Promise<Outcome<{ taken: readonly TakenFile[] }>> {
	const open = await requireOpenIntake(deed, input.intakeId);
	if (!open.ok) return open;
	const files = await loadIntakeFiles(deed.tx, input.intakeId);
	const stale = files.filter(({ id, version }) => input.versions.get(id) !== version);
	if (stale.length > 0) return bad(...stale.map((file) => fileChanged(file, '')));
	if (files.length === 0)
		return bad({ path: 'intake', message: 'Found no file, expected at least one.' });
	const context = await loadIntakeContext(deed.tx, files);
	const judged = files.map((file) => readyFile(file, files, context));
	const problems = [
		...judged.flatMap((each) => (each.ok ? [] : each.problems)),
		...sameRoasts(judged)
	];
	if (problems.length > 0) return bad(...problems);
	const ready = judged.flatMap((each) => (each.ok ? [each.value] : []));
	await rememberCorrected(deed, files);
	const taken = await recordAll(deed, ready);
	if (!taken.ok) return taken;
	await close(deed, input.intakeId, files);
	return taken;
}

function readyFile(
	file: IntakeFile,
	files: readonly IntakeFile[],
	context: IntakeContext
): Outcome<Ready> {
	const { fileName, mapping } = file;
	const problems: Problem[] = fileProblems(file, files, context).map(({ path, message }) => ({
		path,
		message
	}));
	if (mapping === null || problems.length > 0)
		return bad(...(problems.length > 0 ? problems : [notUnderstood(fileName)]));
	const log = logInput(fileName, file.bytes, mapping);
	const understood = understandAbout(mapping.kind, file.about, context);
	if (!log.ok) problems.push(...log.problems);
	if (!understood.ok) problems.push(...inFile(fileName, understood.problems));
	if (!log.ok || !understood.ok) return bad(...problems);
	const roastedAt = momentOfRoast(understood.value, context.timeZone);
	return good({ file, log: log.value, understood: understood.value, roastedAt });
}

function momentOfRoast(understood: Understood, timeZone: string): InstantMs {
	if (understood.kind === 'batch') return understood.batch.batch.roastedAt;
	if (understood.kind === 'roasted test') return understood.test.roastedAt;
	return instantOf(understood.about.roastedAt, timeZone);
}

function notUnderstood(fileName: string): Problem {
	return { path: fileName, message: 'The file could not be understood; remove it.' };
}

function inFile(fileName: string, problems: readonly Problem[]): Problem[] {
	return problems.map(({ path, message }) => ({ path: `${fileName}, ${path}`, message }));
}

/** Two files can't both be the log of one roast. */
function sameRoasts(judged: readonly Outcome<Ready>[]): Problem[] {
	const first = new Map<string, string>();
	return judged.flatMap((each): Problem[] => {
		if (!each.ok) return [];
		const { file, understood } = each.value;
		const name = roastOf(understood);
		if (name === null) return [];
		const other = first.get(name);
		if (other === undefined) {
			first.set(name, file.fileName);
			return [];
		}
		return [
			{
				path: `${file.fileName}, test`,
				message: `${name} is already the roast of ${other}, expected another.`
			}
		];
	});
}

/** A roast that was on record or planned before its log; null for one that comes with its log. */
function roastOf(understood: Understood): string | null {
	if (understood.kind === 'sample' || understood.kind === 'new batch') return null;
	if (understood.kind === 'batch') return `Production batch ${understood.batch.batch.id}`;
	return `Test ${understood.test.number} of lot ${understood.test.lot}`;
}

/**
 * Records the roasts in the order in which they happened. After a refusal it goes on, so that one attempt
 * says all that is wrong; everything is undone in the end.
 */
async function recordAll(
	deed: Deed,
	ready: readonly Ready[]
): Promise<Outcome<{ taken: TakenFile[] }>> {
	const taken: TakenFile[] = [];
	const problems: Problem[] = [];
	for (const each of ready.toSorted((a, b) => a.roastedAt - b.roastedAt)) {
		const { fileName } = each.file;
		const recorded = await recordOne(deed, each);
		if (recorded.ok) taken.push({ fileName, sampleId: recorded.value });
		else problems.push(...inFile(fileName, atField(each, recorded.problems)));
	}
	return problems.length > 0 ? bad(...problems) : good({ taken });
}

/** What the ledger says of a mass is said of the charge that was typed. */
function atField({ understood }: Ready, problems: readonly Problem[]): Problem[] {
	const charge = understood.kind === 'sample' ? 'charge_g' : 'charge_kg';
	return problems.map((problem) =>
		problem.path === 'massG' ? { ...problem, path: charge } : problem
	);
}

/** @returns the sample's id, or null for another roast */
async function recordOne(deed: Deed, ready: Ready): Promise<Outcome<number | null>> {
	const { understood, roastedAt, log: file } = ready;
	if (understood.kind === 'batch' || understood.kind === 'roasted test') {
		const added =
			understood.kind === 'batch'
				? await addProductionLog(deed, { productionId: understood.batch.batch.id, file })
				: await addTestLog(deed, { testBatchId: understood.test.testBatchId, file });
		return added.ok ? good(null) : added;
	}
	const own: Deed = { ...deed, by: understood.about.by };
	if (understood.kind === 'new batch') {
		const added = await recordWithLog(own, understood, roastedAt, file);
		return added.ok ? good(null) : added;
	}
	if (understood.kind === 'sample') {
		const { lot: _lot, by: _by, ...about } = understood.about;
		const { lotId } = understood;
		const recorded = await recordSample(own, { ...about, lotId, roastedAt, file });
		return recorded.ok ? good(recorded.value.sampleId) : recorded;
	}
	const { test, about } = understood;
	const recorded = await recordTestRoast(own, {
		testBatchId: test.testBatchId,
		roastedAt,
		chargeG: about.chargeG ?? test.chargeG,
		outG: about.outG,
		note: about.note,
		file
	});
	return recorded.ok ? good(null) : recorded;
}

/** Records a production batch and adds its log, unless a batch is on record that it would be. */
async function recordWithLog(
	deed: Deed,
	{ lotId, productId, roasterId, about }: Extract<Understood, { kind: 'new batch' }>,
	roastedAt: InstantMs,
	file: LogInput
): Promise<Outcome<unknown>> {
	const near = await loadBatches(deed.tx, {
		fromMs: roastedAt - SAME_BATCH_MS,
		toMs: roastedAt + SAME_BATCH_MS
	});
	const same = near.find(({ batch }) => batch.roasterId === roasterId);
	if (same)
		return bad({
			path: 'roasted_at',
			message: `Production batch ${same.batch.id} of lot ${same.lotCode} was charged on ${about.roaster} within two minutes of that, expected a batch not on record. ${same.batch.logId === null ? 'It lacks its log: choose it as the roast.' : 'It has its log already.'}`
		});
	const { chargeG, outG } = about;
	const recorded = await recordProduction(deed, lotId, [
		{ productId, roasterId, roastedAt, chargeG, outG }
	]);
	if (!recorded.ok) return recorded;
	return addProductionLog(deed, { productionId: recorded.value.ids[0]!, file });
}

/** No drum is charged twice within so short a time. */
const SAME_BATCH_MS = 2 * 60_000;

/**
 * Keeps each mapping that isn't what the file would have been read by without a person. Where the headings
 * stand is a matter of the one file: a moved heading row is not kept.
 */
async function rememberCorrected(deed: Deed, files: readonly IntakeFile[]): Promise<void> {
	const memories = await loadMappingMemories(deed.tx);
	for (const { bytes, fileName, mapping } of files) {
		const guessed = sniffLog(bytes, fileName, memories).mapping;
		if (mapping === null || guessed === null || sameMapping(guessed, mapping)) continue;
		if (mapping.dialect.headingRow !== guessed.dialect.headingRow) continue;
		const kept = { ...remember(mapping), usedAt: deed.now, by: deed.by };
		await deed.tx
			.insert(mappingMemory)
			.values(kept)
			.onConflictDoUpdate({ target: mappingMemory.shape, set: kept });
	}
}

/** The roasts now hold the bytes; the intake keeps the names and hashes. */
async function close(deed: Deed, intakeId: number, files: readonly IntakeFile[]): Promise<void> {
	await deed.tx.update(intake).set({ committedAt: deed.now }).where(eq(intake.id, intakeId));
	await deed.tx
		.update(intakeFile)
		.set({ bytes: Buffer.alloc(0) })
		.where(eq(intakeFile.intakeId, intakeId));
	await note(deed, 'take in log files', null, {
		intakeId,
		files: files.map(({ fileName }) => fileName)
	});
}
