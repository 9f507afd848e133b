import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { ReadingSeries, SampleReading } from '#lib/domain/release/reading.ts';
import { readingInWords, type Statement } from '#lib/domain/release/words.ts';
import { panelResults, type PanelResult } from '#lib/domain/trial/panel.ts';
import type { Cupping } from '../../store/cuppings.ts';
import type { SampleRecord } from '../../store/logs.ts';
import { momentOf, type Moment } from '../moment.ts';
import { sampleHref } from '../places.ts';

/** A sample roast of a lot with its key figures. */
export interface LotSample {
	readonly id: number;
	readonly href: string;
	readonly stage: string;
	readonly roasted: Moment;
	readonly by: string;
	readonly fileName: string;
	readonly method: string | null;
	readonly chargeG: number | null;
	/** Seconds from charge, as heard. */
	readonly earCrackS: number | null;
	/** The reading without its series; null where the log can't be read. */
	readonly reading: Omit<SampleReading, 'series'> | null;
	readonly problems: readonly Problem[];
	/** What the cuppers found, form by form. */
	readonly results: readonly PanelResult[];
}

export interface LotSamples {
	/** Oldest first. */
	readonly samples: readonly LotSample[];
	/** The one whose curve is drawn: the newest of the arrived coffee, else the newest. */
	readonly drawn: {
		readonly id: number;
		readonly series: ReadingSeries;
		readonly words: readonly Statement[];
	} | null;
}

/** @param cuppings those of the lot's samples */
export function lotSamples(
	records: readonly SampleRecord[],
	cuppings: readonly Cupping[],
	zone: string
): LotSamples {
	const read = records.filter((record) => record.result !== null);
	const drawn = read.findLast(({ sample }) => sample.stage === 'arrival') ?? read.at(-1);
	return {
		samples: records.map((record) => sampleOf(record, cuppings, zone)),
		drawn: drawn?.result
			? {
					id: drawn.sample.id,
					series: rounded(drawn.result.series),
					words: readingInWords(drawn.result)
				}
			: null
	};
}

function sampleOf(
	{ sample, result, ...record }: SampleRecord,
	cuppings: readonly Cupping[],
	zone: string
): LotSample {
	return {
		id: sample.id,
		href: sampleHref(sample.id),
		stage: sample.stage,
		roasted: momentOf(sample.roastedAt, zone),
		by: sample.by,
		fileName: record.fileName,
		method: record.method,
		chargeG: sample.chargeG,
		earCrackS: sample.earCrackS ?? result?.inputs.earCrackS ?? null,
		reading: result ? withoutSeries(result) : null,
		problems: record.problems,
		results: panelResults(cuppings.filter(({ sampleId }) => sampleId === sample.id))
	};
}

function withoutSeries(reading: SampleReading): Omit<SampleReading, 'series'> {
	const { series: _, ...rest } = reading;
	return rest;
}

/** As exact as a chart can show: what is drawn travels in every page. */
export function rounded(series: ReadingSeries): ReadingSeries {
	const short = (values: readonly number[]) => values.map((v) => Number(v.toPrecision(4)));
	const maybe = (values: readonly number[] | null) => (values ? short(values) : null);
	return {
		timeS: series.timeS,
		rate: short(series.rate),
		baseRate: short(series.baseRate),
		humidityRatioGKg: short(series.humidityRatioGKg),
		absoluteHumidityGM3: null,
		beanC: maybe(series.beanC),
		exhaustC: maybe(series.exhaustC)
	};
}
