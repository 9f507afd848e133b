/**
 * What a log file is about, as a person says it: a sample of a lot, a planned test, a production batch, or
 * a roast that was recorded without its log, of a test or of production. The fields are those of the tables
 * that samples, tests and production come in by, less what the file itself says.
 */
import { sampleProblems, type SampleFacts } from '#lib/domain/lot/sampleFacts.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { CellType } from './cells.ts';
import { productionTable, samplesTable, testsTable, type RecordOf } from './tables.ts';
import { filled, type TableSpec } from './tableFile.ts';

const { logFile: _logFile, ...sampleColumns } = samplesTable.columns;
type SampleAboutRow = Omit<RecordOf<typeof samplesTable>, 'logFile'>;

/** A sample roast, times local. */
export type SampleAbout = SampleAboutRow;

export const sampleAbout: TableSpec<SampleAbout> = {
	name: 'sample',
	columns: sampleColumns,
	finish: finishSample
};

/** The fields that have to agree with each other, for a form that is not complete yet. */
export const sampleMasses = {
	name: 'sample',
	columns: {
		stage: sampleColumns.stage,
		chargeG: sampleColumns.chargeG,
		outG: sampleColumns.outG
	},
	finish: finishSample
} satisfies TableSpec<SampleFacts>;

function finishSample<T extends SampleFacts>(row: T): Outcome<T> {
	const problems = sampleProblems(row);
	return problems.length > 0 ? bad(...problems) : good(row);
}

/** A planned test by its lot and number. */
export interface TestName {
	readonly lot: string;
	readonly number: number;
}

/** `HR-151/3`. */
export function testNameText({ lot, number }: TestName): string {
	return `${lot}/${number}`;
}

/** The roast that a drum log is of: a test by its lot and number, or a production batch by its id. */
export type RoastName = TestName | { readonly batch: number };

/** `HR-151/3`, or `batch 1234`. */
export function roastNameText(name: RoastName): string {
	return 'batch' in name ? `batch ${name.batch}` : testNameText(name);
}

const roastName: CellType<RoastName> = {
	describe: 'a test such as HR-151/3 or a production batch such as batch 1234',
	numeric: false,
	parse: (cell) => {
		const batch = /^batch (\d{1,12})$/i.exec(cell);
		if (batch) return { batch: Number(batch[1]) };
		const match = /^(.+)\/(\d{1,2})$/.exec(cell);
		return match ? { lot: match[1]!.trim(), number: Number(match[2]) } : undefined;
	}
};

/** The roast of a planned test, times local; without a charge it is the planned one. */
export interface DrumAbout {
	readonly test: RoastName;
	readonly roastedAt: string;
	readonly by: string;
	readonly chargeG: number | null;
	readonly outG: number;
	readonly note: string;
}

const drum = testsTable.columns;
export const drumAbout: TableSpec<DrumAbout> = {
	name: 'test roast',
	columns: {
		test: filled('test', roastName),
		roastedAt: filled('roasted_at', samplesTable.columns.roastedAt.type),
		by: samplesTable.columns.by,
		chargeG: { ...drum.chargeG, blank: { refused: false, value: null } },
		outG: filled('out_kg', drum.chargeG.type),
		note: drum.note
	},
	finish: good
};

/** All that is needed of a roast that is on record without its log. */
export const recordedAbout: TableSpec<Pick<DrumAbout, 'test'>> = {
	name: 'recorded roast',
	columns: { test: drumAbout.columns.test },
	finish: good
};

/** In place of a roast's name: the log is of a production batch that is not on record yet. */
export const NEW_BATCH = 'new batch';

/** A production batch to record with its log, times local. */
export type BatchAbout = RecordOf<typeof productionTable>;

export const batchAbout: TableSpec<BatchAbout> = { ...productionTable, name: 'production batch' };

/** Every field that a file's description can have. */
export const ABOUT_FIELDS = [
	...new Set(
		[sampleColumns, drumAbout.columns, batchAbout.columns].flatMap((columns) =>
			Object.values(columns).map(({ name }) => name)
		)
	)
] as readonly string[];

/** Fields in words, for what is still needed. */
export const ABOUT_WORDS: Readonly<Record<string, string>> = {
	lot: 'lot',
	stage: 'stage',
	test: 'roast',
	product: 'product',
	roaster: 'roaster',
	roasted_at: 'roasted at',
	by: 'roasted by',
	charge_g: 'charge',
	charge_kg: 'charge',
	out_g: 'mass out',
	out_kg: 'mass out',
	air_flow_g_s: 'dry-air flow',
	sensor_lag_s: 'sensor lag',
	ear_crack: 'crack by ear',
	note: 'note'
};
