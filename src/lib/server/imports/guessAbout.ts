/**
 * Guesses what a log file is about. Rules:
 * 1. The lot is the longest code that stands in the file's name, else above its headings; never part of a
 *    longer word or number.
 * 2. The moment of roasting is the first date with a time in the time column, else one above the headings
 *    that can be read in one way only.
 * 3. A test is the lot's one of the number in the name, else its only waiting one.
 * 4. Else a roast on record without its log: the test of the number in the name, or the only production
 *    batch of the lot that was charged within five minutes of the file's moment.
 * 5. What isn't found stays blank: a person fills it in.
 */
import { SAMPLE_STAGES } from '#lib/domain/lot/lot.ts';
import { clockOf, dayOf } from '#lib/domain/quantity/week.ts';
import { roastNameText, type RoastName, type TestName } from './aboutFile.ts';
import type { LogPreview, RawRow } from './logFile.ts';
import { isStamp, parseStamp, type DateOrder } from './number.ts';
import { dateOrder } from './times.ts';

export interface GuessContext {
	readonly lots: readonly { readonly code: string; readonly arrived: boolean }[];
	/** Tests that wait for their roast. */
	readonly waiting: readonly TestName[];
	/** Tests that were roasted without a log. */
	readonly unlogged: readonly TestName[];
	/** Production batches without a log; times are local, to the minute. */
	readonly batches: readonly { readonly id: number; readonly lot: string; readonly at: string }[];
	/** A lot that was chosen before the files. */
	readonly lotCode: string | null;
	/** Who records. */
	readonly by: string;
	readonly timeZone: string;
	/** Crack by ear in the log, seconds from charge. */
	readonly earCrackS: number | null;
}

/** Fields as a person would type them; names are those of `ABOUT_FIELDS`. */
export function guessAbout(preview: LogPreview, context: GuessContext): Record<string, string> {
	const { lots, waiting, by } = context;
	const lot =
		context.lotCode ??
		lotIn(
			preview,
			lots.map(({ code }) => code)
		) ??
		'';
	const at = roastedAt(preview, context.timeZone);
	const test: RoastName | null =
		testOf(preview.fileName, lot, waiting, context.unlogged) ?? batchOf(lot, at, context.batches);
	const arrived = lots.find(({ code }) => code === lot)?.arrived ?? false;
	const stage = stageIn(preview.fileName) ?? (arrived ? 'arrival' : '');
	const seconds = context.earCrackS;
	const earCrack =
		seconds === null
			? ''
			: `${Math.floor(Math.round(seconds) / 60)}:${String(Math.round(seconds) % 60).padStart(2, '0')}`;
	return {
		lot,
		by,
		roasted_at: at ?? '',
		...(preview.kind.kind === 'drum' ? {} : { stage, ear_crack: earCrack }),
		...(preview.kind.kind === 'drum' && test ? { test: roastNameText(test) } : {})
	};
}

function lotIn({ fileName, preamble }: LogPreview, codes: readonly string[]): string | null {
	const longestFirst = [...codes].sort((a, b) => b.length - a.length);
	const places = [fileName, ...preamble.flatMap(({ cells }) => cells)];
	for (const place of places) {
		const found = longestFirst.find((code) => holdsWord(place, code));
		if (found) return found;
	}
	return null;
}

function holdsWord(text: string, word: string): boolean {
	const lower = text.toLowerCase();
	const at = lower.indexOf(word.toLowerCase());
	if (at < 0) return false;
	const isWord = (character: string | undefined) =>
		character !== undefined && /[\p{L}\p{N}]/u.test(character);
	return !isWord(lower[at - 1]) && !isWord(lower[at + word.length]);
}

function stageIn(fileName: string): string | null {
	return SAMPLE_STAGES.find((stage) => holdsWord(fileName, stage)) ?? null;
}

function testOf(
	fileName: string,
	lot: string,
	waiting: readonly TestName[],
	unlogged: readonly TestName[]
): TestName | null {
	const ofLot = (test: TestName) => test.lot === lot;
	const number = Number(/test[\s_-]*(\d{1,2})(?!\d)/i.exec(fileName)?.[1]);
	const named = [...waiting, ...unlogged].filter(ofLot).find((test) => test.number === number);
	if (named) return named;
	const own = waiting.filter(ofLot);
	return own.length === 1 && Number.isNaN(number) ? own[0]! : null;
}

const NEAR_MS = 5 * 60_000;

/** The only batch near the file's moment, of its lot where the lot is known. */
function batchOf(
	lot: string,
	at: string | null,
	batches: GuessContext['batches']
): RoastName | null {
	if (at === null) return null;
	const ms = (local: string) => Date.parse(`${local}Z`);
	const near = batches.filter(
		(batch) => (lot === '' || batch.lot === lot) && Math.abs(ms(batch.at) - ms(at)) <= NEAR_MS
	);
	return near.length === 1 ? { batch: near[0]!.id } : null;
}

/** `2026-11-25T14:05` in the site's zone. */
function roastedAt(preview: LogPreview, timeZone: string): string | null {
	const time = preview.mapping?.columns.find(({ use }) => use === 'time');
	if (time?.unit === 'timestamp') {
		const cells = preview.firstRows.map((row) => row.cells[time.index] ?? '');
		const order = dateOrder(cells);
		const first = cells.find((cell) => parseStamp(cell, order) !== null);
		if (first) return localText(first, order, timeZone);
	}
	for (const text of stampsIn(preview.preamble)) {
		const orders = (['ymd', 'dmy', 'mdy'] as const).filter(
			(order) => parseStamp(text, order) !== null
		);
		if (orders.length === 1) return localText(text, orders[0]!, timeZone);
	}
	return null;
}

const STAMP_INSIDE =
	/\d{1,4}[-./]\d{1,2}[-./]\d{1,4}[T ,]+\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d{1,9})?)?(?:\s*(?:am|pm))?(?:\s*(?:Z|[+-]\d{2}:?\d{2}))?/i;

function stampsIn(preamble: readonly RawRow[]): string[] {
	const cells = preamble.flatMap((row) => [...row.cells, row.cells.join(' ')]);
	return cells.flatMap((cell) => STAMP_INSIDE.exec(cell)?.[0] ?? []).filter(isStamp);
}

function localText(stamp: string, order: DateOrder, timeZone: string): string {
	const ms = parseStamp(stamp, order)! * 1000;
	if (/(Z|[+-]\d{2}:?\d{2})$/i.test(stamp.trim()) && /:\d{2}.*(Z|[+-])/i.test(stamp))
		return `${dayOf(ms, timeZone)}T${clockOf(ms, timeZone)}`;
	return new Date(ms).toISOString().slice(0, 16);
}
