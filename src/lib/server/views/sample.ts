/** Sample roasts: the list of all, and the reading of one with where each figure comes from. */
import { LOT_KINDS, SAMPLE_STAGES } from '#lib/domain/lot/lot.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import {
	READING_METHOD,
	type ReadingInputs,
	type SampleReading
} from '#lib/domain/release/reading.ts';
import { readingInWords } from '#lib/domain/release/words.ts';
import type { Reader } from '../db/client.ts';
import type { LogMapping } from '../imports/mapping.ts';
import { meaningText } from '../imports/useWords.ts';
import { loadLogFile, loadSamples, type SampleRecord } from '../store/logs.ts';
import { loadMeasurements, type Measurement } from '../store/lots.ts';
import { loadSampleSummaries, type SampleSummary } from '../store/samples.ts';
import { requireSite } from '../store/site.ts';
import { rounded } from './lot/samples.ts';
import { loadSampleCupping } from './cupping/samples.ts';
import { momentOf, type Moment } from './moment.ts';
import { lotHref, sampleHref } from './places.ts';

/** A sample in the list. Shares and losses are 0 to 1, times seconds from charge. */
export interface SampleRow {
	readonly id: number;
	readonly href: string;
	readonly lotCode: string;
	readonly lotName: string;
	readonly lotHref: string;
	readonly lotKind: string;
	readonly stage: string;
	readonly roasted: Moment;
	readonly roastedAt: InstantMs;
	readonly fileName: string;
	/** `unread` where the log gave no reading. */
	readonly verdict: 'distinct' | 'weak' | 'none' | 'unread';
	readonly crackS: number | null;
	readonly crackC: number | null;
	readonly prominence: number | null;
	readonly shares: SampleReading['shares'] | null;
	readonly weightLoss: number | null;
	readonly method: string | null;
	readonly sureness: number | null;
	readonly problems: readonly string[];
}

export const SAMPLE_VERDICTS = ['distinct', 'weak', 'none', 'unread'] as const;

export const SAMPLE_SORTS = [
	'lot',
	'stage',
	'roasted',
	'verdict',
	'crack',
	'temperature',
	'prominence',
	'loss',
	'sureness'
] as const;

export interface SamplesFilter {
	readonly q: string;
	readonly lot: string;
	readonly stage: string;
	readonly verdict: string;
	readonly kind: string;
	readonly sort: { readonly key: string; readonly descending: boolean } | null;
	readonly page: number;
}

export const SAMPLES_A_PAGE = 50;

function sampleRow(summary: SampleSummary, zone: string): SampleRow {
	const { id, lotCode, lotName, lotKind, stage, roastedAt, fileName, method, reading } = summary;
	return {
		...{ id, lotCode, lotName, lotKind, stage, roastedAt, fileName, method },
		href: sampleHref(id),
		lotHref: lotHref(lotCode),
		roasted: momentOf(roastedAt, zone),
		verdict: reading?.crack.verdict ?? 'unread',
		crackS: reading?.crack.peakS ?? null,
		crackC: reading?.crack.temperatureC ?? null,
		prominence: reading?.crack.prominence ?? null,
		shares: reading?.shares ?? null,
		weightLoss: reading?.weightLoss ?? null,
		sureness: reading?.sureness ?? null,
		problems: summary.problems.map(({ message }) => message)
	};
}

/** The sample roasts that a filter asks for, newest first unless sorted. */
export async function loadSamplesPage(db: Reader, filter: SamplesFilter) {
	const [site, summaries] = await Promise.all([requireSite(db), loadSampleSummaries(db)]);
	const text = filter.q.toLowerCase();
	const found = summaries
		.filter(
			(s) =>
				(filter.lot === '' || s.lotCode === filter.lot) &&
				(filter.stage === '' || s.stage === filter.stage) &&
				(filter.kind === '' || s.lotKind === filter.kind) &&
				`${s.lotCode}\n${s.lotName}\n${s.producer}\n${s.fileName}`.toLowerCase().includes(text)
		)
		.map((summary) => sampleRow(summary, site.timeZone))
		.filter((row) => filter.verdict === '' || row.verdict === filter.verdict);
	const sorted = sortSamples(found, filter.sort);
	const pages = Math.max(1, Math.ceil(sorted.length / SAMPLES_A_PAGE));
	const page = Math.min(filter.page, pages);
	return {
		rows: sorted.slice((page - 1) * SAMPLES_A_PAGE, page * SAMPLES_A_PAGE),
		found: found.length,
		all: summaries.length,
		page,
		lot: filter.lot,
		stages: SAMPLE_STAGES,
		verdicts: SAMPLE_VERDICTS,
		kinds: LOT_KINDS
	};
}

const SORT_VALUE: Readonly<
	Record<(typeof SAMPLE_SORTS)[number], (row: SampleRow) => string | number | null>
> = {
	lot: (row) => row.lotCode,
	stage: (row) => SAMPLE_STAGES.findIndex((stage) => stage === row.stage),
	roasted: (row) => row.roastedAt,
	verdict: (row) => SAMPLE_VERDICTS.indexOf(row.verdict),
	crack: (row) => row.crackS,
	temperature: (row) => row.crackC,
	prominence: (row) => row.prominence,
	loss: (row) => row.weightLoss,
	sureness: (row) => row.sureness
};

/** By the column asked for, else newest first. What is missing comes last either way. */
export function sortSamples(rows: readonly SampleRow[], sort: SamplesFilter['sort']): SampleRow[] {
	const key = SAMPLE_SORTS.find((each) => each === sort?.key);
	const newest = rows.toSorted((a, b) => b.roastedAt - a.roastedAt || b.id - a.id);
	if (!key) return newest;
	const value = SORT_VALUE[key];
	const sign = sort?.descending ? -1 : 1;
	return newest.toSorted((a, b) => {
		const [x, y] = [value(a), value(b)];
		if (x === null || y === null) return Number(x === null) - Number(y === null);
		return sign * (x < y ? -1 : x > y ? 1 : 0);
	});
}

/** One input of a reading and where it came from. */
export interface InputFact {
	readonly term: string;
	readonly value: number | null;
	readonly decimals: number;
	readonly unit: string;
	readonly from: string;
	readonly href: string | null;
}

/** One sample with its reading; null when there is none. */
export async function loadSamplePage(db: Reader, sampleId: number) {
	const [record] = await loadSamples(db, { sampleId });
	if (!record) return null;
	const { sample, result } = record;
	const [site, file, measurements, ofLot] = await Promise.all([
		requireSite(db),
		loadLogFile(db, sample.logId),
		loadMeasurements(db, sample.lotId),
		loadSamples(db, { lotId: sample.lotId })
	]);
	const zone = site.timeZone;
	return {
		cupping: await loadSampleCupping(db, sample.id, zone),
		id: sample.id,
		lotCode: record.lotCode,
		lotName: record.lotName,
		lotKind: record.lotKind,
		lotHref: lotHref(record.lotCode),
		stage: sample.stage,
		by: sample.by,
		note: sample.note,
		roasted: momentOf(sample.roastedAt, zone),
		earCrackS: sample.earCrackS ?? result?.inputs.earCrackS ?? null,
		earFrom: sample.earCrackS === null ? ('the log' as const) : ('the record' as const),
		reading: result ? { ...result, series: rounded(result.series) } : null,
		words: result ? readingInWords(result) : [],
		problems: record.problems,
		method: record.method,
		isOlderMethod: record.method !== null && record.method !== READING_METHOD,
		inputs: result ? inputFacts(record, result.inputs, measurements, site.altitudeM) : [],
		wouldChange: result ? wouldChange(result) : [],
		file: file ? fileFacts(file, zone) : null,
		others: ofLot
			.filter((other) => other.sample.id !== sample.id)
			.map((other) => ({
				id: other.sample.id,
				href: sampleHref(other.sample.id),
				stage: other.sample.stage,
				roasted: momentOf(other.sample.roastedAt, zone)
			}))
	};
}

export type SamplePage = NonNullable<Awaited<ReturnType<typeof loadSamplePage>>>;

function fileFacts(file: NonNullable<Awaited<ReturnType<typeof loadLogFile>>>, zone: string) {
	const mapping = file.mapping as LogMapping;
	return {
		name: file.fileName,
		rows: file.rows,
		sha256: file.sha256,
		recorded: momentOf(file.recordedAt, zone),
		by: file.by,
		notes: file.notes as readonly string[],
		columns: mapping.columns.map((column) => ({
			index: column.index,
			heading: column.heading.trim() || `(column ${column.index + 1})`,
			meaning: meaningText(column)
		}))
	};
}

const HUMIDITY_WORDS: Readonly<Record<ReadingInputs['humidityFrom'], string>> = {
	humidityRhPct: 'relative humidity',
	humidityAbsGM3: 'absolute humidity',
	humidityRatioGKg: 'humidity ratio'
};

/** Which columns the humidity was read from, in words. */
export function humidityText({ humidityFrom, humidityTemperatureFrom }: ReadingInputs): string {
	const at = {
		sensorC: ' at the temperature of the humidity sensor',
		exhaustC: ' at the exhaust temperature'
	};
	return (
		HUMIDITY_WORDS[humidityFrom] + (humidityTemperatureFrom ? at[humidityTemperatureFrom] : '')
	);
}

function inputFacts(
	{ sample, lotCode }: SampleRecord,
	inputs: ReadingInputs,
	measurements: readonly Measurement[],
	altitudeM: number
): InputFact[] {
	const moisture = measurements.findLast((m) => m.stage === sample.stage && m.moisturePct !== null);
	const pressureFrom = {
		given: 'given',
		altitude: `from the site's altitude, ${altitudeM} m`,
		standard: 'standard pressure at sea level: no altitude is known'
	};
	const lagFrom = {
		given: 'given with the sample',
		estimated: 'estimated from the log',
		default: 'a default: neither given nor to be found in the log'
	};
	const recorded = (value: number | null) =>
		value === null ? 'not given' : 'given with the sample';
	const fact = (
		term: string,
		value: number | null,
		unit: string,
		decimals: number,
		from: string,
		href: string | null = null
	): InputFact => ({ term, value, unit, decimals, from, href });
	return [
		fact('Charge', inputs.chargeG, 'g', 1, recorded(inputs.chargeG)),
		fact('Mass out', inputs.outG, 'g', 1, recorded(inputs.outG)),
		fact(
			'Green moisture',
			inputs.greenMoisturePct,
			'%',
			1,
			moisture
				? `measured at ${moisture.stage} by ${moisture.by}`
				: `no measurement of the ${sample.stage} stage`,
			lotHref(lotCode)
		),
		fact('Dry-air flow at charge', inputs.airFlowGS, 'g/s', 2, recorded(inputs.airFlowGS)),
		fact('Lag of the humidity sensor', inputs.sensorLagS, 's', 1, lagFrom[inputs.sensorLagFrom]),
		fact('Air pressure', inputs.pressurePa / 100, 'hPa', 0, pressureFrom[inputs.pressureFrom])
	];
}

/** What would change a reading, by what it lacks. */
export function wouldChange({ inputs, crack, rateUnit }: SampleReading): string[] {
	const changes: (string | false)[] = [
		rateUnit === 'relative' &&
			'The dry-air flow at charge: release would be in g/s, and the water could be balanced against the weighed loss.',
		inputs.sensorLagFrom !== 'given' &&
			'A measured lag of the humidity sensor: the crack moves with it, by less than the lag is wrong.',
		inputs.humidityTemperatureFrom === 'exhaustC' &&
			'A temperature at the humidity sensor itself: relative humidity was taken at the exhaust temperature instead.',
		(inputs.chargeG === null || inputs.outG === null) &&
			'Charge and mass out: there would be a weight loss.',
		inputs.greenMoisturePct === null &&
			'The moisture of the green coffee at this stage: released water could be compared with the water that was there.',
		inputs.pressureFrom === 'standard' &&
			'The altitude of the site: pressure enters every humidity ratio.',
		crack.peakS !== null &&
			crack.temperatureC === null &&
			'A bean or exhaust temperature: the crack would have one.'
	];
	return changes.filter((change) => change !== false);
}
