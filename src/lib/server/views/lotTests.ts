/** The tests of one lot side by side: curves, settings, outcome, cupping, and what changed between them. */
import {
	alignAt,
	compareOutcomes,
	outcomeFigures,
	type FigureValue,
	type OutcomeRow
} from '#lib/domain/drum/compare.ts';
import type { FaultName } from '#lib/domain/drum/faultRules.ts';
import type { DrumReading } from '#lib/domain/drum/reading.ts';
import type { Verdict } from '#lib/domain/lot/lot.ts';
import { settingTexts } from '#lib/domain/trial/settings.ts';
import type { Reader } from '../db/client.ts';
import { loadDrumSettings, loadTestColours } from '../store/drum.ts';
import { findLot } from '../store/lots.ts';
import { requireSite } from '../store/site.ts';
import { loadTests, type TestRecord } from '../store/tests.ts';
import { batchCurves, type BatchCurves } from './batchCurves.ts';
import { colourText, readBatch } from './drum.ts';
import { momentOf, type Moment } from './moment.ts';
import { lotHref } from './places.ts';
import { changesFrom } from './test.ts';
import { scoredOf, testHref, type Scored } from './tests.ts';

export const ALIGNMENTS = ['charge', 'crack'] as const;
export type Alignment = (typeof ALIGNMENTS)[number];

/** So many tests are drawn over each other, the newest. */
const DRAWN = 6;

export interface ComparedTest {
	readonly number: number;
	readonly href: string;
	readonly label: string;
	readonly purpose: string;
	readonly roasted: Moment | null;
	readonly verdict: Verdict | null;
	readonly reason: string;
	readonly faults: readonly { readonly name: FaultName; readonly fromS: number }[];
	/** Rules that could not be applied. */
	readonly unchecked: number;
	/** Why there is no curve; null where there is one. */
	readonly noCurve: string | null;
	readonly cuppings: readonly (Scored & {
		readonly descriptors: string;
		readonly note: string;
	})[];
	readonly colour: string | null;
}

/** One line of the table of settings, a text for each test. */
export interface SettingRow {
	readonly label: string;
	readonly values: readonly string[];
	/** Whether each differs from the test before; never for the first. */
	readonly differs: readonly boolean[];
}

/** One line of the table of outcomes, a number for each test. */
export interface FigureRow {
	readonly key: string;
	readonly label: string;
	readonly unit: FigureValue['unit'];
	readonly values: readonly (number | null)[];
	/** Against the test before; null for the first and where they don't compare. */
	readonly differences: readonly (number | null)[];
}

/** From one test to the next. */
export interface TestStep {
	readonly from: number;
	readonly to: number;
	/** Computed from both records, one phrase each. */
	readonly changes: readonly string[];
	/** What the planner said would change. */
	readonly declared: string;
	readonly faultsGone: readonly FaultName[];
	readonly faultsNew: readonly FaultName[];
	/** Figures that could not be set against each other, and why. */
	readonly notCompared: readonly string[];
	/** Why the outcomes can't be compared; null where they can. */
	readonly noOutcome: string | null;
}

export interface LotTestsPage {
	readonly lotCode: string;
	readonly lotName: string;
	readonly lotHref: string;
	readonly align: Alignment;
	readonly tests: readonly ComparedTest[];
	readonly curves: BatchCurves | null;
	/** Tests that are not drawn, and why. */
	readonly notDrawn: readonly string[];
	readonly settings: readonly SettingRow[];
	readonly outcomes: readonly FigureRow[];
	readonly steps: readonly TestStep[];
}

interface Read {
	readonly test: TestRecord;
	readonly reading: DrumReading | null;
	readonly noCurve: string | null;
}

/** The tests of a lot side by side; null when there is no lot of that code. */
export async function loadLotTests(
	db: Reader,
	code: string,
	align: Alignment
): Promise<LotTestsPage | null> {
	const lot = await findLot(db, code);
	if (!lot) return null;
	const [site, tests, settings, colours] = await Promise.all([
		requireSite(db),
		loadTests(db, { lotId: lot.id }),
		loadDrumSettings(db),
		loadTestColours(db)
	]);
	const reads: Read[] = [];
	for (const test of tests) reads.push(await readTest(db, test, settings));
	return {
		lotCode: lot.code,
		lotName: lot.name,
		lotHref: lotHref(lot.code),
		align,
		tests: reads.map((read) => {
			const colour = colours.get(read.test.batch.id);
			return { ...comparedTest(read, site.timeZone), colour: colour ? colourText(colour) : null };
		}),
		...drawn(reads, align),
		settings: settingRows(tests),
		outcomes: figureRows(reads),
		steps: reads.slice(1).map((next, i) => stepOf(reads[i]!, next))
	};
}

async function readTest(
	db: Reader,
	test: TestRecord,
	settings: Parameters<typeof readBatch>[2]
): Promise<Read> {
	const { batch, roast } = test;
	if (!roast) return { test, reading: null, noCurve: 'waits for its roast' };
	const { chargeG, outG, logId } = roast;
	const { roasterId } = batch;
	const read = await readBatch(db, { roasterId, chargeG, outG, logId }, settings);
	if (!read) return { test, reading: null, noCurve: 'was recorded without a log' };
	if (read.ok) return { test, reading: read.value, noCurve: null };
	const why = read.problems.map(({ message }) => message).join('; ');
	return { test, reading: null, noCurve: `has a log that can't be read: ${why}` };
}

function comparedTest(
	{ test, reading, noCurve }: Read,
	zone: string
): Omit<ComparedTest, 'colour'> {
	const { batch, roast, verdict, cuppings } = test;
	return {
		number: batch.number,
		href: testHref(test.lotCode, batch.number),
		label: `Test ${batch.number}`,
		purpose: batch.purpose,
		roasted: roast ? momentOf(roast.roastedAt, zone) : null,
		verdict: (verdict?.verdict ?? null) as Verdict | null,
		reason: verdict?.reason ?? '',
		faults: reading?.faults.map(({ name, fromS }) => ({ name, fromS })) ?? [],
		unchecked: reading?.unchecked.length ?? 0,
		noCurve,
		cuppings: cuppings.map((one) => ({
			...scoredOf(one.sheet, one.by),
			descriptors: one.descriptors,
			note: one.note
		}))
	};
}

function drawn(
	reads: readonly Read[],
	align: Alignment
): Pick<LotTestsPage, 'curves' | 'notDrawn'> {
	const readings = reads.flatMap(({ test, reading }) =>
		reading ? [{ label: `test ${test.batch.number}`, reading }] : []
	);
	const aligned = alignAt(
		readings.map(({ reading }) => reading),
		align
	);
	const able = readings.flatMap(({ label, reading }, i) => {
		const moved = aligned[i];
		const turningPointS = reading.marks.turningPoint?.timeS ?? null;
		return moved ? [{ label, aligned: moved, turningPointS }] : [];
	});
	const names = new Set(able.slice(-DRAWN).map(({ label }) => label));
	const notDrawn = reads.flatMap(({ test, reading, noCurve }) => {
		const label = `test ${test.batch.number}`;
		if (names.has(label)) return [];
		if (!reading) return [`${label} ${noCurve}`];
		const isMarked = able.some((one) => one.label === label);
		return [
			`${label} ${isMarked ? `is older than the newest ${DRAWN}` : `has no first crack marked`}`
		];
	});
	const shown = able.slice(-DRAWN);
	return { curves: shown.length > 0 ? batchCurves(shown) : null, notDrawn };
}

function settingRows(tests: readonly TestRecord[]): SettingRow[] {
	const texts = tests.map(({ batch, roasterName }) => [
		{ label: 'Roaster', text: roasterName },
		...settingTexts(batch.settings)
	]);
	return (texts[0] ?? []).map(({ label }, row) => {
		const values = texts.map((of) => of[row]!.text);
		return { label, values, differs: values.map((text, i) => i > 0 && text !== values[i - 1]) };
	});
}

function figureRows(reads: readonly Read[]): FigureRow[] {
	const figures = reads.map(({ reading }) => reading && outcomeFigures(reading));
	const against = reads.map((next, i) => outcomesOf(reads[i - 1], next));
	const first = figures.find((of) => of !== null);
	return (first ?? [])
		.map(({ key, label, unit }, row) => ({
			...{ key, label, unit },
			values: figures.map((of) => of?.[row]!.value ?? null),
			differences: against.map((rows) => rows?.[row]!.difference ?? null)
		}))
		.filter(({ values }) => values.some((value) => value !== null));
}

function outcomesOf(before: Read | undefined, next: Read): readonly OutcomeRow[] | null {
	if (!before?.reading || !next.reading) return null;
	return compareOutcomes(before.reading, next.reading).rows;
}

function stepOf(before: Read, next: Read): TestStep {
	const compared =
		before.reading && next.reading ? compareOutcomes(before.reading, next.reading) : null;
	const { batch, roasterName } = next.test;
	const without = [before, next].find(({ reading }) => reading === null);
	return {
		from: before.test.batch.number,
		to: batch.number,
		changes: changesFrom(before.test, { roasterName, settings: batch.settings }),
		declared: batch.change,
		faultsGone: compared?.faultsGone ?? [],
		faultsNew: compared?.faultsNew ?? [],
		notCompared:
			compared?.rows.flatMap(({ label, because }) => (because ? [`${label}: ${because}`] : [])) ??
			[],
		noOutcome: without ? `Test ${without.test.batch.number} ${without.noCurve}.` : null
	};
}
