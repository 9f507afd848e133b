/** Offer, pre-shipment and arrival of one lot over each other, and what differs more than two roasts do. */
import { SAMPLE_STAGES } from '#lib/domain/lot/lot.ts';
import {
	AXIS_FROM_C,
	FEATURES,
	type Feature,
	type Fingerprint
} from '#lib/domain/release/fingerprint.ts';
import {
	bandOf,
	differenceIsReal,
	differentSpans,
	type Repeatability,
	type Spread
} from '#lib/domain/release/repeatability.ts';
import type { Reader } from '../db/client.ts';
import { loadSamples, type SampleRecord } from '../store/logs.ts';
import { findLot, loadMeasurements, type Measurement } from '../store/lots.ts';
import { loadFingerprints } from '../store/readings.ts';
import { requireSite } from '../store/site.ts';
import { loadCuppingComparison, type CuppingComparison } from './cupping/samples.ts';
import { momentOf, type Moment } from './moment.ts';
import { lotHref, sampleHref } from './places.ts';
import { printed, type PrintedCurve } from './similar.ts';
import { preparedLibrary } from './similar/library.ts';

/** Which two samples are set against each other, by id; null leaves the choice to the page. */
export interface Chosen {
	readonly earlier: number | null;
	readonly later: number | null;
}

export interface ComparedSample {
	readonly id: number;
	readonly href: string;
	/** Told apart from others of its stage by its day. */
	readonly label: string;
	readonly stage: string;
	readonly roasted: Moment;
	readonly by: string;
	readonly note: string;
	readonly verdict: 'distinct' | 'weak' | 'none' | 'unread';
	readonly hasFingerprint: boolean;
}

/** One figure over all samples, and its difference between the chosen two. */
export interface ComparedFigure {
	readonly label: string;
	readonly unit: string;
	readonly decimals: number;
	/** One for each sample, in their order. */
	readonly values: readonly (number | null)[];
	/** Later less earlier; null where either has none. */
	readonly difference: number | null;
	/** Two roasts of one lot lie closer in 19 of 20 cases; null where that is not known. */
	readonly limit: number | null;
	readonly limitFrom: Spread['from'] | null;
	readonly isOutside: boolean;
}

export interface Comparison {
	readonly lotCode: string;
	readonly lotName: string;
	readonly lotHref: string;
	/** In the order of the stages, then of roasting. */
	readonly samples: readonly ComparedSample[];
	readonly earlier: ComparedSample | null;
	readonly later: ComparedSample | null;
	/** Why the chosen two can't be compared curve by curve; null where they can. */
	readonly whyNot: string | null;
	readonly axis: 'bean' | 'exhaust';
	readonly fromC: number;
	/** The earlier, the later, then others on the same axis. */
	readonly curves: readonly PrintedCurve[];
	readonly band: { readonly low: readonly number[]; readonly high: readonly number[] } | null;
	readonly spans: readonly {
		readonly label: string;
		readonly fromC: number;
		readonly toC: number;
	}[];
	readonly figures: readonly ComparedFigure[];
	readonly measurements: readonly ComparedFigure[];
	readonly cupped: CuppingComparison;
	/** What differs beyond repeats, in words; empty where nothing does. */
	readonly differences: readonly string[];
	/** What repeatability rests on. */
	readonly because: string;
}

interface FigureWords {
	readonly label: string;
	readonly unit: string;
	readonly factor: number;
	readonly decimals: number;
}

const FEATURE_WORDS: Readonly<Record<Feature, FigureWords>> = {
	earlyShare: { label: 'Early share of the water', unit: '%', factor: 100, decimals: 1 },
	middleSlope: { label: 'Rise through the middle', unit: '% per 10 °C', factor: 100, decimals: 1 },
	evenness: { label: 'Evenness', unit: '%', factor: 100, decimals: 1 },
	crackProminence: { label: 'Burst over base', unit: '%', factor: 100, decimals: 0 },
	crackWidthC: { label: 'Width of the crack', unit: '°C', factor: 1, decimals: 1 },
	crackTemperatureC: { label: 'Half cracked at', unit: '°C', factor: 1, decimals: 1 },
	totalGPerKg: { label: 'Water released', unit: 'g/kg', factor: 1, decimals: 0 }
};

/** A sample of the lot with its fingerprint. */
interface Compared {
	readonly record: SampleRecord;
	readonly view: ComparedSample;
	readonly print: Fingerprint | null;
}

/** The samples of a lot over each other; null when there is no lot of that code. */
export async function loadComparison(
	db: Reader,
	code: string,
	chosen: Chosen
): Promise<Comparison | null> {
	const lot = await findLot(db, code);
	if (!lot) return null;
	const [site, records, entries, measurements] = await Promise.all([
		requireSite(db),
		loadSamples(db, { lotId: lot.id }),
		loadFingerprints(db, { lotId: lot.id }),
		loadMeasurements(db, lot.id)
	]);
	const all = inOrder(records).map((record) => ({
		record,
		view: sampleView(
			record,
			records,
			entries.some((e) => e.sampleId === record.sample.id),
			site.timeZone
		),
		print: entries.find(({ sampleId }) => sampleId === record.sample.id)?.fingerprint ?? null
	}));
	const [earlier, later] = chosenOf(all, chosen);
	const axis = later?.print?.axis ?? 'bean';
	const { repeatability } = await preparedLibrary(db, axis);
	return {
		lotCode: lot.code,
		lotName: lot.name,
		lotHref: lotHref(lot.code),
		samples: all.map(({ view }) => view),
		earlier: earlier?.view ?? null,
		later: later?.view ?? null,
		axis,
		fromC: AXIS_FROM_C[axis],
		...compare(all, earlier, later, repeatability),
		measurements: measuredOf(all, earlier, later, measurements),
		cupped: await loadCuppingComparison(
			db,
			all.map(({ view }) => view.id),
			earlier && later ? { earlier: earlier.view.id, later: later.view.id } : null
		),
		because: repeatability.because
	};
}

const stageRank = (stage: string) => SAMPLE_STAGES.findIndex((each) => each === stage);

function inOrder(records: readonly SampleRecord[]): SampleRecord[] {
	return records.toSorted(
		(a, b) =>
			stageRank(a.sample.stage) - stageRank(b.sample.stage) ||
			a.sample.roastedAt - b.sample.roastedAt ||
			a.sample.id - b.sample.id
	);
}

function sampleView(
	{ sample, result }: SampleRecord,
	all: readonly SampleRecord[],
	hasFingerprint: boolean,
	zone: string
): ComparedSample {
	const roasted = momentOf(sample.roastedAt, zone);
	const isAlone = all.filter((other) => other.sample.stage === sample.stage).length === 1;
	return {
		...{
			id: sample.id,
			stage: sample.stage,
			by: sample.by,
			note: sample.note,
			hasFingerprint,
			roasted
		},
		href: sampleHref(sample.id),
		label: isAlone ? sample.stage : `${sample.stage} ${roasted.day} ${roasted.clock}`,
		verdict: result?.crack.verdict ?? 'unread'
	};
}

/** The newest sample against the newest of the stage before it, else against the one before it. */
function chosenOf(
	all: readonly Compared[],
	{ earlier, later }: Chosen
): readonly [Compared | undefined, Compared | undefined] {
	const byId = (id: number | null) => all.find(({ view }) => view.id === id);
	const second = byId(later) ?? all.at(-1);
	const before = all.filter(({ view }) => view.id !== second?.view.id);
	const ofEarlierStage = before.filter(({ view }) => view.stage !== second?.view.stage);
	return [byId(earlier) ?? ofEarlierStage.at(-1) ?? before.at(-1), second];
}

function compare(
	all: readonly Compared[],
	earlier: Compared | undefined,
	later: Compared | undefined,
	repeatability: Repeatability
): Pick<Comparison, 'whyNot' | 'curves' | 'band' | 'spans' | 'figures' | 'differences'> {
	const [a, b] = [earlier?.print ?? null, later?.print ?? null];
	const whyNot = whyNotCompared(earlier, later);
	const figures = figuresOf(all, a, b, whyNot === null ? repeatability : null);
	if (whyNot !== null || !a || !b)
		return { whyNot, curves: [], band: null, spans: [], figures, differences: [] };
	const spans = differentSpans(a, b, repeatability).map(({ second, ...span }) => ({
		label: `${second} at ${later!.view.stage}`,
		...span
	}));
	const band = bandOf(a, repeatability);
	const others = all.filter(
		(one) => one !== earlier && one !== later && one.print?.axis === a.axis
	);
	return {
		whyNot,
		curves: [earlier!, later!, ...others].map(({ view, print }) => printed(view.label, print!)),
		band: { low: band.low.map(short), high: band.high.map(short) },
		spans,
		figures,
		differences: [
			...figures
				.filter(({ isOutside }) => isOutside)
				.map((figure) => differenceText(figure, all, earlier!, later!)),
			...spans.map(
				(s) =>
					`From ${s.fromC} to ${s.toC} °C ${s.label.replace(' at ', ' of the water left at ')}.`
			)
		]
	};
}

function whyNotCompared(earlier?: Compared, later?: Compared): string | null {
	if (!earlier || !later) return 'One sample alone: there is nothing to lay over it.';
	for (const { print, view } of [earlier, later])
		if (!print) return `The ${view.label} sample has no fingerprint: its page says why.`;
	if (earlier.print!.axis === later.print!.axis) return null;
	return `One was logged by ${earlier.print!.axis} temperature, the other by ${later.print!.axis} temperature; expected the same.`;
}

function figuresOf(
	all: readonly Compared[],
	a: Fingerprint | null,
	b: Fingerprint | null,
	repeatability: Repeatability | null
): ComparedFigure[] {
	const found = repeatability && a && b ? differenceIsReal(a, b, repeatability) : null;
	return FEATURES.map((feature, index) => {
		const { factor, ...words } = FEATURE_WORDS[feature];
		const scaled = (value: number | null | undefined) =>
			typeof value === 'number' ? factor * value : null;
		const one = found?.[index];
		return {
			...words,
			values: all.map(({ print }) => scaled(print?.features[feature])),
			difference: scaled(one?.difference),
			limit: scaled(one?.limit),
			limitFrom: one ? repeatability!.features[feature].from : null,
			isOutside: one?.real ?? false
		};
	});
}

/** `Evenness went from 61.2 to 54.0 %; two roasts of one lot lie within 2.3.` */
function differenceText(
	{ label, unit, decimals, values, limit }: ComparedFigure,
	all: readonly Compared[],
	earlier: Compared,
	later: Compared
): string {
	const at = (one: Compared) => values[all.indexOf(one)]!.toFixed(decimals);
	return `${label} went from ${at(earlier)} to ${at(later)} ${unit}; two roasts of one lot lie within ${limit!.toFixed(decimals)}.`;
}

const MEASURED = [
	['moisturePct', 'Moisture', '%', 1],
	['waterActivity', 'Water activity', '', 3],
	['densityGL', 'Bulk density', 'g/L', 0],
	['screen16UpPct', 'Screen 16 and up', '%', 0],
	['defectsPer300G', 'Defects in 300 g', '', 0]
] as const;

/** Green measurements of each sample's stage; how well they repeat is not on record. */
function measuredOf(
	all: readonly Compared[],
	earlier: Compared | undefined,
	later: Compared | undefined,
	measurements: readonly Measurement[]
): ComparedFigure[] {
	return MEASURED.map(([field, label, unit, decimals]) => {
		const of = (stage: string) =>
			measurements.findLast((m) => m.stage === stage && m[field] !== null)?.[field] ?? null;
		const from = earlier ? of(earlier.view.stage) : null;
		const to = later ? of(later.view.stage) : null;
		const isSame = earlier?.view.stage === later?.view.stage;
		return {
			...{ label, unit, decimals },
			values: all.map(({ view }) => of(view.stage)),
			difference: from === null || to === null || isSame ? null : to - from,
			limit: null,
			limitFrom: null,
			isOutside: false
		};
	}).filter(({ values }) => values.some((value) => value !== null));
}

const short = (value: number) => Number(value.toPrecision(4));
