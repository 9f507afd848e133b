/** Log files on their way in: what each was understood as, what it is about and what is still missing. */
import type { LogKind } from '#lib/domain/curve/log.ts';
import type { Currency } from '#lib/domain/quantity/money.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { Reader } from '../db/client.ts';
import {
	ABOUT_WORDS,
	batchAbout,
	drumAbout,
	NEW_BATCH,
	recordedAbout,
	roastNameText,
	sampleAbout,
	sampleMasses,
	testNameText,
	type BatchAbout,
	type DrumAbout,
	type SampleAbout
} from '../imports/aboutFile.ts';
import { dataRowsOf, rowsBy } from '../imports/correct.ts';
import { readFields } from '../imports/fields.ts';
import { dialectText } from '../imports/logFile.ts';
import { previewBy } from '../imports/previewBy.ts';
import { MARK_WORDS, MEANINGS, USE_WORDS, meaningText, meaningValue } from '../imports/useWords.ts';
import {
	findIntake,
	loadIntakeFiles,
	loadIntakes,
	loadLogsByHash,
	loadMappingMemories,
	loadWaitingTests,
	type IntakeFile,
	type KnownLog,
	type WaitingTest
} from '../store/intake.ts';
import {
	loadBatches,
	loadUnloggedTests,
	type BatchRecord,
	type UnloggedTest
} from '../store/batches.ts';
import { loadLots } from '../store/lots.ts';
import { loadProducts } from '../store/production.ts';
import { loadRoasters, requireSite } from '../store/site.ts';
import { momentOf } from './moment.ts';
import { batchHref, sampleHref } from './places.ts';
import { testHref } from './tests.ts';

/** What a file's description may refer to. */
export interface IntakeContext {
	readonly currency: Currency | null;
	readonly timeZone: string;
	/** Lot ids by code. */
	readonly lots: ReadonlyMap<string, number>;
	readonly products: readonly Named[];
	readonly roasters: readonly Named[];
	readonly waiting: readonly WaitingTest[];
	/** Tests roasted without a log. */
	readonly unlogged: readonly UnloggedTest[];
	/** Production batches without a log: those that the files name, of their lots, and the newest. */
	readonly batches: readonly BatchRecord[];
	/** Logs on record with the same bytes as a file, by hash. */
	readonly known: ReadonlyMap<string, KnownLog>;
}

interface Named {
	readonly id: number;
	readonly code: string;
	readonly name: string;
}

/** Loads what the files of an intake are judged by. */
export async function loadIntakeContext(
	db: Reader,
	files: readonly Pick<IntakeFile, 'sha256' | 'about'>[]
): Promise<IntakeContext> {
	const [site, lots, products, roasters, waiting, unlogged, known] = await Promise.all([
		requireSite(db),
		loadLots(db),
		loadProducts(db),
		loadRoasters(db),
		loadWaitingTests(db),
		loadUnloggedTests(db),
		loadLogsByHash(
			db,
			files.map((file) => file.sha256)
		)
	]);
	const ids = new Map(lots.map((lot) => [lot.code, lot.id]));
	return {
		currency: site.currency,
		timeZone: site.timeZone,
		lots: ids,
		...{ products, roasters },
		waiting,
		unlogged,
		batches: await offeredBatches(db, files, ids),
		known
	};
}

/** So many batches of each lot that the files are of are offered, of all lots where it isn't known. */
const OFFERED_OF_LOT = 40;

async function offeredBatches(
	db: Reader,
	files: readonly Pick<IntakeFile, 'about'>[],
	lots: ReadonlyMap<string, number>
): Promise<BatchRecord[]> {
	const named = files.flatMap(
		({ about }) => /^batch (\d{1,12})$/i.exec(about['test'] ?? '')?.[1] ?? []
	);
	const codes = [...new Set(files.map(({ about }) => about['lot'] ?? ''))];
	const ofLots = await Promise.all(
		codes.map((code) => {
			const lotId = lots.get(code);
			const of = lotId === undefined ? {} : { lotId };
			return loadBatches(db, { ...of, unlogged: true, newest: OFFERED_OF_LOT });
		})
	);
	const found = [
		...(await loadBatches(db, { ids: named.map(Number), unlogged: true })),
		...ofLots.flat()
	];
	return [...new Map(found.map((each) => [each.batch.id, each])).values()].sort(
		(a, b) => b.batch.roastedAt - a.batch.roastedAt
	);
}

/** What a file is about, resolved: a roast to record, or one on record that lacks its log. */
export type Understood =
	| { readonly kind: 'sample'; readonly lotId: number; readonly about: SampleAbout }
	| { readonly kind: 'test'; readonly test: WaitingTest; readonly about: DrumAbout }
	| { readonly kind: 'roasted test'; readonly test: UnloggedTest }
	| { readonly kind: 'batch'; readonly batch: BatchRecord }
	| {
			readonly kind: 'new batch';
			readonly lotId: number;
			readonly productId: number;
			readonly roasterId: number;
			readonly about: BatchAbout;
	  };

/** Reads what was typed about a file; problem paths are field names. */
export function understandAbout(
	kind: LogKind,
	about: Readonly<Record<string, string>>,
	context: IntakeContext
): Outcome<Understood> {
	if (kind === 'sample') {
		const read = readFields(about, sampleAbout, context.currency);
		const code = about['lot']?.trim() ?? '';
		const lotId = context.lots.get(code);
		const unknown: Problem[] = code !== '' && lotId === undefined ? [unknownCode('lot', code)] : [];
		if (!read.ok) return bad(...unknown, ...withMasses(read.problems, about, context));
		return lotId === undefined ? bad(...unknown) : good({ kind, lotId, about: read.value });
	}
	if (isNewBatch(about)) return newBatch(about, context);
	return recordedRoast(about, context) ?? waitingTest(about, context);
}

function isNewBatch(about: Readonly<Record<string, string>>): boolean {
	return about['test']?.trim() === NEW_BATCH;
}

function newBatch(
	about: Readonly<Record<string, string>>,
	context: IntakeContext
): Outcome<Understood> {
	const read = readFields(about, batchAbout, context.currency);
	if (!read.ok) return read;
	const { lot, product, roaster } = read.value;
	const lotId = context.lots.get(lot);
	const productId = context.products.find(({ code }) => code === product)?.id;
	const roasterId = context.roasters.find(({ code }) => code === roaster)?.id;
	if (lotId === undefined || productId === undefined || roasterId === undefined)
		return bad(
			...(lotId === undefined ? [unknownCode('lot', lot)] : []),
			...(productId === undefined ? [unknownCode('product', product)] : []),
			...(roasterId === undefined ? [unknownCode('roaster', roaster)] : [])
		);
	return good({ kind: 'new batch', lotId, productId, roasterId, about: read.value });
}

function unknownCode(field: 'lot' | 'product' | 'roaster', code: string): Problem {
	return { path: field, message: `There is no ${field} ${code}.` };
}

/** A roast on record that waits for its log; null when none is named. */
function recordedRoast(
	about: Readonly<Record<string, string>>,
	{ currency, unlogged, batches }: IntakeContext
): Outcome<Understood> | null {
	const read = readFields({ test: about['test'] ?? '' }, recordedAbout, currency);
	if (!read.ok) return null;
	const name = read.value.test;
	if ('batch' in name) {
		const batch = batches.find((each) => each.batch.id === name.batch);
		return batch
			? good({ kind: 'batch', batch })
			: bad({
					path: 'test',
					message: `There is no production batch ${name.batch} that lacks its log.`
				});
	}
	const test = unlogged.find((each) => each.lot === name.lot && each.number === name.number);
	return test ? good({ kind: 'roasted test', test }) : null;
}

function waitingTest(
	about: Readonly<Record<string, string>>,
	context: IntakeContext
): Outcome<Understood> {
	const read = readFields(about, drumAbout, context.currency);
	if (!read.ok) return read;
	const name = read.value.test;
	const test = context.waiting.find((each) => roastNameText(each) === roastNameText(name));
	return test
		? good({ kind: 'test', test, about: read.value })
		: bad({
				path: 'test',
				message: `Test ${roastNameText(name)} does not wait for its roast, nor for its log.`
			});
}

/** What the masses lack counts too while other fields are still open. */
function withMasses(
	problems: readonly Problem[],
	about: Readonly<Record<string, string>>,
	{ currency }: IntakeContext
): Problem[] {
	const masses = readFields(about, sampleMasses, currency);
	const more = masses.ok ? [] : masses.problems;
	const known = new Set(problems.map(({ path }) => path));
	return [...problems, ...more.filter(({ path }) => !known.has(path))];
}

/** Where a roast that is on record is shown. */
export function roastHref({ sampleId, lotCode, testNumber, productionId }: KnownLog): string {
	if (productionId !== null) return batchHref(lotCode, productionId);
	return sampleId === null ? testHref(lotCode, testNumber ?? 0) : sampleHref(sampleId);
}

export function roastLabel(log: KnownLog): string {
	if (log.productionId !== null)
		return `production batch ${log.productionId} of lot ${log.lotCode}`;
	return log.sampleId === null
		? `test ${log.testNumber} of lot ${log.lotCode}`
		: `the sample of lot ${log.lotCode}`;
}

/** A problem with where it can be mended. */
export interface FileProblem extends Problem {
	readonly href: string | null;
}

/** What stands in the way of the file itself: unreadable, known already, or twice in the intake. */
export function fileProblems(
	file: IntakeFile,
	files: readonly IntakeFile[],
	{ known }: Pick<IntakeContext, 'known'>
): FileProblem[] {
	const problems: FileProblem[] = file.problems.map((problem) => ({ ...problem, href: null }));
	const before = known.get(file.sha256);
	if (before)
		problems.push({
			path: file.fileName,
			message: `The same bytes were taken in before as ${before.fileName}: ${roastLabel(before)}. No second roast is made; remove this file.`,
			href: roastHref(before)
		});
	const first = files.find((each) => each.sha256 === file.sha256);
	if (first && first.id !== file.id)
		problems.push({
			path: file.fileName,
			message: `The same bytes stand in this intake as ${first.fileName}. Remove one of the two.`,
			href: `#file-${first.id}`
		});
	return problems;
}

/** One file in the list. */
export interface IntakeRow {
	readonly id: number;
	readonly version: number;
	readonly fileName: string;
	/** Null while it can't be split into columns. */
	readonly kind: LogKind | null;
	readonly understood: string;
	readonly columns: string;
	readonly about: Readonly<Record<string, string>>;
	/** Problems of the file; it can't be taken in with any. */
	readonly problems: readonly FileProblem[];
	/** Problems of what was typed, by field; a blank one isn't among them. */
	readonly wrong: Readonly<Record<string, string>>;
	/** Fields that are still blank and have to be filled, in words. */
	readonly needs: readonly string[];
	readonly note: string | null;
	/** The roast is on record: nothing else is asked. */
	readonly isRecorded: boolean;
	/** It is said to be of a production batch that is not on record yet. */
	readonly isNewBatch: boolean;
	readonly ready: boolean;
}

function rowOf(file: IntakeFile, files: readonly IntakeFile[], context: IntakeContext): IntakeRow {
	const { id, version, fileName, mapping, about } = file;
	const kind = mapping?.kind ?? null;
	const problems = fileProblems(file, files, context);
	const read = kind === null ? null : understandAbout(kind, about, context);
	const open = read && !read.ok ? read.problems : [];
	const isBlank = ({ path }: Problem) => (about[path]?.trim() ?? '') === '';
	return {
		...{ id, version, fileName, kind, about, problems },
		...wordsOf(file),
		wrong: Object.fromEntries(open.filter((p) => !isBlank(p)).map((p) => [p.path, p.message])),
		needs: open.filter(isBlank).map(({ path }) => ABOUT_WORDS[path] ?? path),
		note: noteOf(file),
		isRecorded: read?.ok === true && ['roasted test', 'batch'].includes(read.value.kind),
		isNewBatch: kind === 'drum' && isNewBatch(about),
		ready: problems.length === 0 && read !== null && read.ok
	};
}

function wordsOf({ bytes, fileName, mapping }: IntakeFile) {
	if (mapping === null) return { understood: 'not understood', columns: '' };
	const rows = dataRowsOf(rowsBy(bytes, fileName, mapping) ?? [], mapping).length;
	const used = mapping.columns.filter(({ use }) => use !== 'ignore');
	const unused = mapping.columns.length - used.length;
	return {
		understood: `${rows.toLocaleString('en-GB')} rows, ${dialectText(mapping.encoding, mapping.dialect)}`,
		columns: used.map(meaningText).join('; ') + (unused > 0 ? `; ${unused} not used` : '')
	};
}

function noteOf({ mapping }: IntakeFile): string | null {
	if (mapping?.kind !== 'sample') return null;
	const humid = mapping.columns.some(({ use }) => use.startsWith('humidity'));
	return humid ? null : 'It has no humidity column, so no release can be read from it.';
}

/** The list of intakes. */
export async function loadIntakeIndex(db: Reader) {
	const [site, intakes, lots] = await Promise.all([
		requireSite(db),
		loadIntakes(db, 50),
		loadLots(db)
	]);
	const when = (at: number) => momentOf(at, site.timeZone);
	return {
		lots: lots.map(({ code, name }) => ({ code, name })),
		intakes: intakes.map(({ id, by, files, openedAt, committedAt }) => ({
			id,
			by,
			files,
			openedAt: when(openedAt),
			committedAt: committedAt === null ? null : when(committedAt)
		}))
	};
}

/** One intake with its files; null when there is none. */
export async function loadIntakePage(db: Reader, intakeId: number) {
	const found = await findIntake(db, intakeId);
	if (!found) return null;
	const files = await loadIntakeFiles(db, intakeId);
	const context = await loadIntakeContext(db, files);
	const when = (at: number) => momentOf(at, context.timeZone);
	const head = { id: found.id, by: found.by, openedAt: when(found.openedAt) };
	if (found.committedAt !== null)
		return {
			...head,
			committedAt: when(found.committedAt),
			rows: [],
			taken: files.map((file) => takenRow(file, context)),
			lots: [],
			...NO_CHOICES,
			roasts: [],
			needs: null
		};
	const rows = files.map((file) => rowOf(file, files, context));
	const lots = await loadLots(db);
	return {
		...head,
		committedAt: null,
		rows,
		taken: [],
		lots: lots.map(({ code, name }) => ({ code, name })),
		roasts: roastChoices(context),
		newBatch: NEW_BATCH,
		products: choices(context.products),
		roasters: choices(context.roasters),
		needs: needsText(rows)
	};
}

const NO_CHOICES = { newBatch: NEW_BATCH, products: [], roasters: [] };

const choices = (list: readonly Named[]) =>
	list.map(({ code, name }) => ({ value: code, label: `${code} ${name}` }));

/** Every roast that a drum log can be of: those to record first, then those that lack their log, a new one. */
function roastChoices({ waiting, unlogged, batches, timeZone }: IntakeContext) {
	const when = (at: number) => {
		const { day, clock } = momentOf(at, timeZone);
		return `${day} ${clock}`;
	};
	return [
		...waiting.map((test) => ({
			value: testNameText(test),
			label: `${test.lot}, test ${test.number}: ${test.chargeG / 1000} kg on ${test.roasterName}, waits for its roast`
		})),
		...unlogged.map((test) => ({
			value: testNameText(test),
			label: `${test.lot}, test ${test.number}: roasted ${when(test.roastedAt)} without a log`
		})),
		...batches.map(({ batch, lotCode, productCode, roasterCode }) => ({
			value: `batch ${batch.id}`,
			label: `${lotCode}, production ${when(batch.roastedAt)}: ${batch.chargeG / 1000} kg ${productCode} on ${roasterCode}`
		})),
		{ value: NEW_BATCH, label: 'A production batch that is not on record yet' }
	];
}

export type IntakePage = NonNullable<Awaited<ReturnType<typeof loadIntakePage>>>;

function takenRow({ id, fileName, sha256 }: IntakeFile, { known }: IntakeContext) {
	const log = known.get(sha256);
	return {
		id,
		fileName,
		roast: log ? roastLabel(log) : null,
		href: log ? roastHref(log) : null
	};
}

/** `3 of 20 still need: lot, charge`; null when none does. */
export function needsText(rows: readonly Pick<IntakeRow, 'needs'>[]): string | null {
	const needing = rows.filter(({ needs }) => needs.length > 0);
	if (needing.length === 0) return null;
	const fields = [...new Set(needing.flatMap(({ needs }) => needs))];
	return `${needing.length} of ${rows.length} still need: ${fields.join(', ')}`;
}

/** The preview of one file of an intake; null when there is none. */
export async function loadIntakeFilePage(db: Reader, intakeId: number, fileId: number) {
	const [found, files] = await Promise.all([
		findIntake(db, intakeId),
		loadIntakeFiles(db, intakeId)
	]);
	const file = files.find((each) => each.id === fileId);
	if (!found || found.committedAt !== null || !file) return null;
	const [context, memories] = await Promise.all([
		loadIntakeContext(db, files),
		loadMappingMemories(db)
	]);
	const { mapping } = file;
	const at = files.indexOf(file);
	const shown = mapping ? previewBy(file.bytes, file.fileName, mapping, memories) : null;
	return {
		id: file.id,
		intakeId,
		version: file.version,
		fileName: file.fileName,
		kilobytes: Math.max(1, Math.round(file.bytes.length / 1024)),
		place: { at: at + 1, of: files.length },
		previous: files[at - 1]?.id ?? null,
		next: files[at + 1]?.id ?? null,
		problems: fileProblems(file, files, context),
		sameShape: files.filter((each) => each !== file && each.mapping?.shape === mapping?.shape)
			.length,
		meanings: meaningGroups(),
		mapping:
			mapping === null
				? null
				: {
						kind: mapping.kind,
						decimal: mapping.dialect.decimal,
						headingRow: mapping.dialect.headingRow === null ? null : mapping.dialect.headingRow + 1
					},
		shown:
			shown === null
				? null
				: {
						...shown,
						notes: [...shown.notes, noteOf(file) ?? []].flat(),
						marks: shown.marks.map(({ name, timeS }) => ({ name: MARK_WORDS[name], timeS })),
						columns: shown.columns.map((column) => ({
							...column,
							value: meaningValue(column),
							meaning: meaningText(column)
						}))
					}
	};
}

export type IntakeFilePage = NonNullable<Awaited<ReturnType<typeof loadIntakeFilePage>>>;

function meaningGroups() {
	const groups = Map.groupBy(MEANINGS, ({ use }) => use);
	return [...groups].map(([use, meanings]) => ({
		label: USE_WORDS[use],
		choices: meanings.map((meaning) => ({
			value: meaningValue(meaning),
			label: meaningText(meaning)
		}))
	}));
}
