import type { SampleReading } from '#lib/domain/release/reading.ts';
import { INK, LINE, SOFT } from './paper.ts';
import { element, pathThrough, roundTicks, words, type Attributes } from './svg.ts';
import { clockText } from './text.ts';

/**
 * The release of a sample roast for paper: release rate and its base on the left axis, temperatures on the
 * right, marks as named lines. Lines differ by dash and weight, so a grey print reads as well.
 */
export type ReleaseCurve = Pick<SampleReading, 'series' | 'rateUnit' | 'crack' | 'dropS'> & {
	/** Heard by a person, s. */
	readonly earCrackS: number | null;
};

const SIZE = { width: 515, height: 194 };
const PLOT = { left: 34, right: 481, top: 26, bottom: 160 };

const LINES = {
	rate: { stroke: INK, 'stroke-width': 1.3 },
	base: { stroke: INK, 'stroke-width': 0.7, 'stroke-dasharray': '2 2' },
	bean: { stroke: SOFT, 'stroke-width': 0.9, 'stroke-dasharray': '7 2' },
	exhaust: { stroke: SOFT, 'stroke-width': 0.9, 'stroke-dasharray': '1 2' }
} as const;

type Place = (value: number) => number;

/** The chart as SVG text, 515 by 194 points. */
export function releaseChart(curve: ReleaseCurve): string {
	const { series, rateUnit, dropS } = curve;
	const factor = rateUnit === 'g/s' ? 1000 : 100;
	const rate = series.rate.map((value) => value * factor);
	const base = series.baseRate.map((value) => value * factor);
	const rateTop = highest(rate) * 1.08;
	const heatTop = highest([...(series.beanC ?? []), ...(series.exhaustC ?? [])]) * 1.05;
	const endS = Math.max(series.timeS.at(-1) ?? dropS, dropS);
	const x = between(0, endS, PLOT.left, PLOT.right);
	const y = between(0, rateTop || 1, PLOT.bottom, PLOT.top);
	const y2 = between(0, heatTop || 1, PLOT.bottom, PLOT.top);
	const line = (values: readonly number[] | null, place: Place, look: Attributes) =>
		values
			? [element('path', { d: curveOf(series.timeS, values, x, place), fill: 'none', ...look })]
			: [];
	return element(
		'svg',
		{
			xmlns: 'http://www.w3.org/2000/svg',
			width: SIZE.width,
			height: SIZE.height,
			viewBox: `0 0 ${SIZE.width} ${SIZE.height}`
		},
		...crackBand(curve, x),
		...leftAxis(rateTop, y, rateUnit === 'g/s' ? 'release, mg/s' : 'release, % of all a second'),
		...(heatTop > 0 ? rightAxis(heatTop, y2) : []),
		...timeAxis(endS, x),
		...line(series.exhaustC, y2, LINES.exhaust),
		...line(series.beanC, y2, LINES.bean),
		...line(base, y, LINES.base),
		...line(rate, y, LINES.rate),
		...markLines(curve, x),
		...legend(series)
	);
}

function between(from: number, to: number, start: number, end: number): Place {
	return (value) => start + ((value - from) / (to - from)) * (end - start);
}

function highest(values: readonly number[]): number {
	return values.reduce((top, value) => (value > top ? value : top), 0);
}

function curveOf(timeS: readonly number[], values: readonly number[], x: Place, y: Place): string {
	return pathThrough(timeS.map((t, i) => [x(t), y(values[i] ?? Number.NaN)] as const));
}

/** From onset to end of cracking, shaded. */
function crackBand({ crack }: ReleaseCurve, x: Place): string[] {
	if (crack.onsetS === null || crack.endS === null) return [];
	return [
		element('rect', {
			x: x(crack.onsetS),
			y: PLOT.top,
			width: x(crack.endS) - x(crack.onsetS),
			height: PLOT.bottom - PLOT.top,
			fill: '#ebebeb'
		})
	];
}

function leftAxis(top: number, y: Place, label: string): string[] {
	return [
		words(label, { x: 0, y: 7, fill: INK }),
		...roundTicks(top, 4).flatMap((tick) => [
			element('line', {
				...{ x1: PLOT.left, x2: PLOT.right, y1: y(tick), y2: y(tick) },
				...{ stroke: LINE, 'stroke-width': tick === 0 ? 0.8 : 0.3 }
			}),
			words(tickText(tick), {
				x: PLOT.left - 4,
				y: y(tick) + 2.5,
				'text-anchor': 'end',
				fill: SOFT
			})
		])
	];
}

function rightAxis(top: number, y: Place): string[] {
	return [
		words('°C', { x: PLOT.right + 4, y: 7, fill: INK }),
		...roundTicks(top, 4).map((tick) =>
			words(tickText(tick), { x: PLOT.right + 4, y: y(tick) + 2.5, fill: SOFT })
		)
	];
}

function timeAxis(endS: number, x: Place): string[] {
	const minutes = Array.from({ length: Math.floor(endS / 60) + 1 }, (_, i) => i);
	return [
		...minutes.map((minute) =>
			words(clockText(minute * 60), {
				...{ x: x(minute * 60), y: PLOT.bottom + 10 },
				...{ 'text-anchor': 'middle', fill: SOFT }
			})
		),
		words('time from charge, min:s', {
			...{ x: PLOT.right, y: PLOT.bottom + 20 },
			...{ 'text-anchor': 'end', fill: SOFT }
		})
	];
}

/** Named upright lines; names that would touch go to a second row. */
function markLines({ crack, earCrackS, dropS }: ReleaseCurve, x: Place): string[] {
	const name = crack.verdict === 'weak' ? 'weak crack' : 'first crack';
	const marks = [
		{ label: name, atS: crack.peakS, dash: 'none' },
		{ label: 'heard', atS: earCrackS, dash: '3 2' },
		{ label: 'drop', atS: dropS, dash: 'none' }
	].flatMap(({ label, atS, dash }) =>
		atS === null ? [] : [{ label: `${label} ${clockText(atS)}`, atS, dash }]
	);
	let [lastEnd, lastRow] = [-Infinity, 1];
	return marks
		.sort((a, b) => a.atS - b.atS)
		.flatMap(({ label, atS, dash }) => {
			const half = label.length * 1.8;
			const middle = Math.min(Math.max(x(atS), PLOT.left + half), SIZE.width - half);
			const row = middle - half > lastEnd + 4 ? 0 : 1 - lastRow;
			[lastEnd, lastRow] = [middle + half, row];
			return [
				element('line', {
					...{ x1: x(atS), x2: x(atS), y1: PLOT.top - 2, y2: PLOT.bottom, stroke: INK },
					...{ 'stroke-width': 0.7, 'stroke-dasharray': dash }
				}),
				words(label, { x: middle, y: row === 0 ? 21 : 13, 'text-anchor': 'middle', fill: INK })
			];
		});
}

function legend({ beanC, exhaustC }: ReleaseCurve['series']): string[] {
	const entries: [string, Attributes][] = [
		['release', LINES.rate],
		['release without the crack', LINES.base]
	];
	if (beanC) entries.push(['bean, °C', LINES.bean]);
	if (exhaustC) entries.push(['exhaust, °C', LINES.exhaust]);
	let at = PLOT.left;
	return entries.flatMap(([label, look]) => {
		const from = at;
		at += 38 + label.length * 3.2;
		const y = PLOT.bottom + 26;
		return [
			element('line', { x1: from, x2: from + 20, y1: y, y2: y, ...look }),
			words(label, { x: from + 24, y: y + 2.5, fill: INK })
		];
	});
}

function tickText(value: number): string {
	return String(Number(value.toPrecision(3)));
}
