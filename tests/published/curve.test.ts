/**
 * Smoothing, peaks, areas and resampling against published tables and SciPy 1.17.1 with NumPy 2.4.6
 * (general-purpose libraries), whose answers stand beside the call that gave them.
 */
import { describe, expect, it } from 'vitest';
import { cumulativeTrapezoid, trapezoid } from '#lib/domain/curve/integrate.ts';
import { findPeaks } from '#lib/domain/curve/peaks.ts';
import { pchipSlopes, resampleLinear, resamplePchip } from '#lib/domain/curve/resample.ts';
import { savgolFilter, savgolWeights, slopes } from '#lib/domain/curve/smooth.ts';

function expectAll(found: ArrayLike<number>, expected: readonly number[], within = 1e-12) {
	expect(found.length).toBe(expected.length);
	for (const [i, value] of expected.entries()) {
		expect(Math.abs(found[i]! - value), `value ${i}`).toBeLessThan(
			within * Math.max(1, Math.abs(value))
		);
	}
}

/**
 * Savitzky and Golay, Anal. Chem. 36 (1964) 1627, tables I to XI, with the corrections of Steinier,
 * Termonia and Deltour, Anal. Chem. 44 (1972) 1906 (publication from memory; every row equals
 * scipy.signal.savgol_coeffs(..., use='dot')): order, derivative, integers, norm.
 */
const TABLES: readonly (readonly [number, number, readonly number[], number])[] = [
	[2, 0, [-3, 12, 17, 12, -3], 35],
	[2, 0, [-2, 3, 6, 7, 6, 3, -2], 21],
	[2, 0, [-21, 14, 39, 54, 59, 54, 39, 14, -21], 231],
	[2, 0, [-36, 9, 44, 69, 84, 89, 84, 69, 44, 9, -36], 429],
	[4, 0, [5, -30, 75, 131, 75, -30, 5], 231],
	[4, 0, [15, -55, 30, 135, 179, 135, 30, -55, 15], 429],
	[2, 1, [-2, -1, 0, 1, 2], 10],
	[2, 1, [-3, -2, -1, 0, 1, 2, 3], 28],
	[2, 1, [-4, -3, -2, -1, 0, 1, 2, 3, 4], 60],
	[3, 1, [1, -8, 0, 8, -1], 12],
	[3, 1, [22, -67, -58, 0, 58, 67, -22], 252],
	[3, 1, [86, -142, -193, -126, 0, 126, 193, 142, -86], 1188],
	[2, 2, [2, -1, -2, -1, 2], 7],
	[2, 2, [5, 0, -3, -4, -3, 0, 5], 42],
	[2, 2, [28, 7, -8, -17, -20, -17, -8, 7, 28], 462]
];

describe('smoothing weights', () => {
	it.each(TABLES)('order %i, derivative %i, %j / %i', (order, derivative, integers, norm) => {
		// Tables of the second derivative come from 2! times the polynomial's coefficient.
		const expected = integers.map((integer) => integer / norm);
		expectAll(savgolWeights(integers.length, order, derivative), expected);
		// A polynomial of the next odd (even) order has the same weights in the middle.
		expectAll(
			savgolWeights(integers.length, order + 1 - ((order + derivative) % 2), derivative),
			expected
		);
	});

	it.each([
		[5, 0, 17 / 35],
		[7, 0, 1 / 3],
		[9, 0, 59 / 231],
		[11, 0, 89 / 429],
		[5, 1, 1 / 10],
		[7, 1, 1 / 28],
		[9, 1, 1 / 60],
		[11, 1, 1 / 110]
	])('of %i points, derivative %i, pass that share of the noise', (points, derivative, gain) => {
		const weights = savgolWeights(points, 2, derivative);
		expectAll([weights.reduce((sum, weight) => sum + weight * weight, 0)], [gain]);
	});
});

describe('smoothing filter', () => {
	// scipy.signal.savgol_filter(x, 5, 2) and (x, 5, 2, deriv=1, delta=2); the series is the one of
	// the function's own documentation. Fractions worked from the tables above.
	const x = [2, 2, 5, 2, 1, 0, 1, 4, 9];
	it('keeps its ends by the polynomial of the last full window', () => {
		expectAll(savgolFilter(x, { points: 5, order: 2 }), [
			58 / 35,
			111 / 35,
			124 / 35,
			20 / 7,
			23 / 35,
			6 / 35,
			1,
			4,
			9
		]);
	});
	it('gives the slope per unit of the axis', () => {
		expectAll(
			savgolFilter(x, { points: 5, order: 2, derivative: 1, step: 2 }),
			[1.0428571428571443, 0.4714285714285721, -0.1, -0.4, -0.5, 0.2, 1, 2, 3]
		);
	});
	it('is exact for the polynomial itself, ends included', () => {
		const squares = Array.from({ length: 9 }, (_, i) => i * i);
		expectAll(
			savgolFilter(squares, { points: 5, order: 2, derivative: 1 }),
			squares.map((_, i) => 2 * i)
		);
	});

	// A rounded random walk of 30 steps; savgol_filter(v, 15, 4, deriv=2, delta=.5) and (v, 11, 3).
	const walk = [
		0.35, 1.17, 1.5, 0.19, 1.1, 1.55, 1.01, 1.59, 1.95, 2.25, 2.28, 2.82, 2.09, 1.92, 1.44, 2.04,
		2.08, 1.79, 1.01, 0.75, 0.76, 0.48, 1.78, 2.78, 0.07, -1.82, -1.99, -2.41, -2.2, -1.98
	];
	it('agrees with SciPy on wide windows of higher order', () => {
		expectAll(
			savgolFilter(walk, { points: 15, order: 4, derivative: 2, step: 0.5 }),
			[
				-0.8455935275594892, -0.48808406763516327, -0.20072940647244808, 0.01647045592865648,
				0.16351551956814991, 0.24040578444603278, 0.24714125056230496, 0.18372191791699885,
				-0.3312390395981285, -0.5614926714152213, -0.3161691816954476, -0.26143861814135466,
				-0.20901863358514755, -0.06361680631025726, -0.06336840661913579, -0.24897836425695913,
				-0.2639847871426432, 0.35665346005905985, 0.5779029639091778, 0.3537462382818676,
				-0.10978331781734382, -0.6048045710738907, -1.0674307735607764, -0.9410840965020695,
				-0.5902190276184145, -0.01483556690985921, 0.785066285623595, 1.809486529981946,
				3.0584251661651987, 4.531882194173351
			],
			1e-11
		);
		expectAll(
			savgolFilter(walk, { points: 11, order: 3 }),
			[
				0.6630769230769231, 0.7967132867132867, 0.9074825174825174, 1.007715617715618,
				1.10974358974359, 1.2258974358974466, 1.3096503496503604, 1.6291841491841594,
				2.023659673659686, 2.18193473193474, 2.2256643356643435, 2.275944055944065,
				2.200932400932407, 2.154731934731937, 2.0349184149184136, 1.846899766899764,
				1.632214452214447, 1.3763636363636362, 1.0952680652680697, 1.2375757575757576,
				1.3426107226107133, 1.2672727272727138, 1.062820512820498, 0.6623310023309885,
				0.043776223776209204, -0.9071794871794812, -1.7601515151515112, -2.3396736596736574,
				-2.470279720279721, -1.9765034965035044
			],
			1e-11
		);
	});

	it('agrees with SciPy on the peaks of that walk', () => {
		// find_peaks(v, prominence=0) and peak_widths(v, peaks, .5).
		const peaks = findPeaks(walk);
		expect(peaks.map((peak) => peak.index)).toEqual([2, 5, 11, 16, 20, 23]);
		expectAll(
			peaks.map((peak) => peak.prominence),
			[1.15, 0.54, 2.63, 0.64, 0.01, 2.3]
		);
		expectAll(
			peaks.map((peak) => peak.width),
			[
				1.7377117855148017, 1.1, 7.011135057471265, 2.505128205128207, 0.5178571428571423,
				1.539738858927052
			]
		);
		expectAll(
			peaks.map((peak) => peak.widthHeight),
			[0.925, 1.28, 1.505, 1.76, 0.755, 1.63]
		);
		expectAll(
			peaks.map((peak) => peak.left),
			[0.701219512195122, 4.4, 6.8534482758620685, 14.533333333333333, 19.5, 21.884615384615383]
		);
	});
});

describe('peaks', () => {
	// scipy.signal.find_peaks, peak_prominences and peak_widths.
	const s = [0, 1, 3, 1, 0, 2, 6, 2, 0, 1, 2, 1, 0, 0, 4, 4, 4, 0];
	it('are found with plateaus, prominence and width', () => {
		const peaks = findPeaks(s);
		expect(peaks.map((peak) => peak.index)).toEqual([2, 6, 10, 15]);
		expect(peaks.map((peak) => peak.prominence)).toEqual([3, 6, 2, 4]);
		expect(peaks.map((peak) => peak.widthHeight)).toEqual([1.5, 3, 1, 2]);
		expect(peaks.map((peak) => peak.left)).toEqual([1.25, 5.25, 9, 13.5]);
		expect(peaks.map((peak) => peak.right)).toEqual([2.75, 6.75, 11, 16.5]);
		expect(peaks.map((peak) => peak.width)).toEqual([1.5, 1.5, 2, 3]);
	});
	it('are kept by prominence', () => {
		expect(findPeaks(s, { leastProminence: 3 }).map((peak) => peak.index)).toEqual([2, 6, 15]);
	});
	it('on shoulders are measured from the higher valley', () => {
		const peaks = findPeaks([0, 5, 3, 4, 1, 8, 2, 6, 0]);
		expect(peaks.map((peak) => peak.index)).toEqual([1, 3, 5, 7]);
		expect(peaks.map((peak) => peak.prominence)).toEqual([4, 1, 8, 4]);
		expectAll(
			peaks.map((peak) => peak.width),
			[1.4, 2 / 3, 26 / 21, 5 / 6]
		);
		expect(peaks.map((peak) => peak.widthHeight)).toEqual([3, 3.5, 4, 4]);
	});
});

describe('areas, slopes and resampling', () => {
	const t = [0, 1, 2.5, 4, 7, 10];
	const y = [0, 1, 4, 4, 2, 0];
	const at = [0.5, 1.5, 2, 3, 5, 6, 8.5, 9.5];

	it('area by trapezoids', () => {
		expect(trapezoid(t, y)).toBe(22.25);
		expectAll(cumulativeTrapezoid(t, y), [0, 0.5, 4.25, 10.25, 19.25, 22.25]);
		// numpy.trapezoid(sin, linspace(0, pi, 7)); in closed form (pi / 6) cot(pi / 12).
		const x = Array.from({ length: 7 }, (_, i) => (i * Math.PI) / 6);
		expectAll([trapezoid(x, x.map(Math.sin))], [Math.PI / 6 / Math.tan(Math.PI / 12)]);
	});

	it('slopes of uneven points', () => {
		// numpy.gradient(y, t)
		expectAll(slopes(t, y), [1, 1.4, 1, -2 / 9, -2 / 3, -2 / 3]);
	});

	it('linear', () => {
		// numpy.interp
		expectAll(resampleLinear(t, y, at), [0.5, 2, 3, 4, 10 / 3, 8 / 3, 1, 1 / 3]);
	});

	it('monotone cubics', () => {
		// scipy.interpolate.PchipInterpolator (Fritsch and Butland 1984)
		expectAll(resamplePchip(t, y, at), [
			0.41195652173913044,
			2.067632850241546,
			3.367149758454106,
			4,
			3.6296296296296293,
			2.814814814814815,
			1,
			1 / 3
		]);
		expectAll(pchipSlopes(t, y), [0.6, 1.3043478260869565, 0, 0, -2 / 3, -2 / 3]);
	});

	it('monotone cubics on the RPN 14 data of Fritsch and Carlson (1980)', () => {
		// SIAM J. Numer. Anal. 17 (1980) 238 (data from memory); values by PchipInterpolator.
		const x = [7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20];
		const rpn = [
			0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.94374, 0.998636, 0.999919, 0.999994
		];
		expectAll(
			resamplePchip(x, rpn, [8.4, 9, 9.5, 11, 13]),
			[
				0.09666880560766512, 0.33753432684619816, 0.6852179451108994, 0.9860433625350502,
				0.9993618220922759
			]
		);
		const dense = resamplePchip(
			x,
			rpn,
			Array.from({ length: 1201 }, (_, i) => 8 + i / 100)
		);
		for (let i = 1; i < dense.length; i++) expect(dense[i]).toBeGreaterThanOrEqual(dense[i - 1]!);
		expect(Math.max(...dense)).toBeLessThanOrEqual(1);
	});
});
