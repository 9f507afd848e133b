import type { ReadingSeries } from '#lib/domain/release/reading.ts';

const light = (values: readonly number[]) => values.map((v) => Number(v.toPrecision(5)));

/**
 * The series with five significant digits, for a loader to send: what a chart and its table can show,
 * at a third of the weight in the page. Times are left as they are.
 */
export function lighten(series: ReadingSeries): ReadingSeries {
	return {
		timeS: series.timeS,
		rate: light(series.rate),
		baseRate: light(series.baseRate),
		humidityRatioGKg: light(series.humidityRatioGKg),
		absoluteHumidityGM3: series.absoluteHumidityGM3 && light(series.absoluteHumidityGM3),
		beanC: series.beanC && light(series.beanC),
		exhaustC: series.exhaustC && light(series.exhaustC)
	};
}
