import type { AlignedSeries } from '#lib/domain/drum/compare.ts';

/** Curves of several batches on one axis of time, for a chart. */
export interface BatchCurves {
	/** Rising, `STEP_S` apart, seconds from where they are aligned. */
	readonly timeS: readonly number[];
	readonly lines: readonly BatchLine[];
}

export interface BatchLine {
	readonly label: string;
	/** On the axis; null where the batch has no value. */
	readonly beanC: readonly (number | null)[];
	readonly rorCMin: readonly (number | null)[];
}

const STEP_S = 5;

/** Puts aligned series on one axis. Rates before the turning point are the drum's, and left out. */
export function batchCurves(
	batches: readonly {
		readonly label: string;
		readonly aligned: AlignedSeries;
		/** Seconds from charge. */
		readonly turningPointS: number | null;
	}[]
): BatchCurves {
	const first = Math.min(...batches.map(({ aligned }) => aligned.series.timeS[0] ?? 0));
	const last = Math.max(...batches.map(({ aligned }) => aligned.series.timeS.at(-1) ?? 0));
	const fromS = Math.floor(first / STEP_S) * STEP_S;
	const count = Math.floor((last - fromS) / STEP_S) + 1;
	const timeS = Array.from({ length: count }, (_, i) => fromS + i * STEP_S);
	return {
		timeS,
		lines: batches.map(({ label, aligned, turningPointS }) => {
			const { series, shiftS } = aligned;
			const placeOf = (t: number) => Math.round(t + shiftS);
			const from = turningPointS ?? 0;
			return {
				label,
				beanC: timeS.map((t) => tenth(series.beanC[placeOf(t)])),
				rorCMin: timeS.map((t) => (placeOf(t) < from ? null : tenth(series.rorCMin[placeOf(t)])))
			};
		})
	};
}

function tenth(value: number | null | undefined): number | null {
	return value === null || value === undefined ? null : Math.round(10 * value) / 10;
}
