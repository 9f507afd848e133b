import { describe, expect, it } from 'vitest';
import { accuracyOf, backTest } from '#lib/domain/demand/backtest.ts';
import { croston } from '#lib/domain/demand/intermittent.ts';
import {
	decompose,
	fitSeason,
	fitSimple,
	naiveAhead,
	seasonSmoothing,
	simpleSmoothing,
	trendSmoothing
} from '#lib/domain/demand/smoothing.ts';

/**
 * Forecasting against the NIST/SEMATECH e-Handbook of Statistical Methods and against R 4.2.2, which was run
 * for these values. The series are those of R's `datasets`; they are written here from memory, and the sums
 * of squares, which R gave for its own copies, hold them to be right.
 */

/** Flow of the Nile at Aswan, 1871 to 1970. */
const NILE = `1120 1160 963 1210 1160 1160 813 1230 1370 1140 995 935 1110 994 1020 960 1180 799 958 1140
	1100 1210 1150 1250 1260 1220 1030 1100 774 840 874 694 940 833 701 916 692 1020 1050 969 831 726 456 824
	702 1120 1100 832 764 821 768 845 864 862 698 845 744 796 1040 759 781 865 845 944 984 897 822 1010 771
	676 649 846 812 742 801 1040 860 874 848 890 744 749 838 1050 918 986 797 923 975 815 1020 906 901 1170
	912 746 919 718 714 740`;

/** Monthly airline passengers, 1949 to 1960. */
const PASSENGERS = `112 118 132 129 121 135 148 148 136 119 104 118 115 126 141 135 125 149 170 170 158 133
	114 140 145 150 178 163 172 178 199 199 184 162 146 166 171 180 193 181 183 218 230 242 209 191 172 194
	196 196 236 235 229 243 264 272 237 211 180 201 204 188 235 227 234 264 302 293 259 229 203 229 242 233
	267 269 270 315 364 347 312 274 237 278 284 277 317 313 318 374 413 405 355 306 271 306 315 301 356 348
	355 422 465 467 404 347 305 336 340 318 362 348 363 435 491 505 404 359 310 337 360 342 406 396 420 472
	548 559 463 407 362 405 417 391 419 461 472 535 622 606 508 461 390 432`;

/** Mean monthly air temperature at Nottingham Castle, 1920 to 1939, degrees Fahrenheit. */
const NOTTINGHAM = `40.6 40.8 44.4 46.7 54.1 58.5 57.7 56.4 54.3 50.5 42.9 39.8 44.2 39.8 45.1 47.0 54.1 58.7
	66.3 59.9 57.0 54.2 39.7 42.8 37.5 38.7 39.5 42.1 55.7 57.8 56.8 54.3 54.3 47.1 41.8 41.7 41.8 40.1 42.9
	45.8 49.2 52.7 64.2 59.6 54.4 49.2 36.3 37.6 39.3 37.5 38.3 45.5 53.2 57.7 60.8 58.2 56.4 49.8 44.4 43.6
	40.0 40.5 40.8 45.1 53.8 59.4 63.5 61.0 53.0 50.0 38.1 36.3 39.2 43.4 43.4 48.9 50.6 56.8 62.5 62.0 57.5
	46.7 41.6 39.8 39.4 38.5 45.3 47.1 51.7 55.0 60.4 60.5 54.7 50.3 42.3 35.2 40.8 41.1 42.8 47.3 50.9 56.4
	62.2 60.5 55.4 50.2 43.0 37.3 34.8 31.3 41.0 43.9 53.1 56.9 62.5 60.3 59.8 49.2 42.9 41.9 41.6 37.1 41.2
	46.9 51.2 60.4 60.1 61.6 57.0 50.9 43.0 38.8 37.1 38.4 38.4 46.5 53.5 58.4 60.6 58.2 53.8 46.6 45.5 40.6
	42.4 38.4 40.3 44.6 50.9 57.0 62.1 63.5 56.3 47.3 43.6 41.8 36.2 39.3 44.5 48.7 54.2 60.8 65.5 64.9 60.1
	50.2 42.1 35.8 39.4 38.2 40.4 46.9 53.4 59.6 66.5 60.4 59.2 51.2 42.8 45.8 40.0 42.6 43.5 47.1 50.0 60.5
	64.6 64.0 56.8 48.6 44.2 36.4 37.3 35.0 44.0 43.9 52.7 58.6 60.0 61.1 58.1 49.6 41.6 41.3 40.8 41.0 38.4
	47.4 54.1 58.6 61.4 61.8 56.3 50.9 41.4 37.1 42.1 41.2 47.3 46.6 52.4 59.0 59.6 60.4 57.0 50.7 47.8 39.2
	39.4 40.9 42.4 47.8 52.4 58.0 60.7 61.8 58.2 46.7 46.6 37.8`;

const series = (text: string) => text.trim().split(/\s+/).map(Number);
const nile = series(NILE);
const passengers = series(PASSENGERS);
const nottingham = series(NOTTINGHAM);

function expectNear(found: readonly number[], expected: readonly number[], tolerance: number) {
	expect(found).toHaveLength(expected.length);
	for (const [i, value] of expected.entries())
		expect(Math.abs(found[i]! - value), `entry ${i}: ${found[i]}`).toBeLessThan(tolerance);
}

describe('NIST/SEMATECH e-Handbook', () => {
	// 6.4.3.1, single smoothing, weight .1; recomputed, agrees with the printed two decimals (from memory).
	const single = [71, 70, 69, 68, 64, 65, 72, 78, 75, 75, 75, 70];

	it('6.4.3.1: the smoothed column', () => {
		const found = simpleSmoothing(single, 0.1);
		const column = [71, 70.9, 70.71, 70.439, 69.7951, 69.3156, 69.584, 70.4256, 70.8831];
		expectNear(found.fitted, [...column, 71.2948, 71.6653], 5e-5);
		expectNear(found.ahead(1), [71.4987545], 1e-7);
		expect(found.sumOfSquares).toBeCloseTo(208.81841, 5);
	});

	// The forecast package of R, ses(alpha = .5, initial = "simple"), run.
	it('the same series with weight .5', () => {
		expectNear(simpleSmoothing(single, 0.5).ahead(1), [72.4018554688], 1e-9);
	});

	// 6.4.3.3 and 6.4.3.4, double smoothing; series seen quoted, weights and printed forecasts from memory.
	it('6.4.3.3 and 6.4.3.4: level, trend and the next five', () => {
		const values = [6.4, 5.6, 7.8, 8.8, 11, 11.6, 16.7, 15.3, 21.6, 22.4];
		const start = { level: 6.4, trend: 0.8, season: [], from: 1 };
		const found = trendSmoothing(values, 0.3623, 1, start);
		const levels = [6.6203, 7.1882, 8.1343, 9.7759, 11.4836, 14.4625, 16.6656, 19.8582, 22.8151];
		expectNear(found.levels, levels, 1e-4);
		expectNear(found.ahead(5), [25.7719, 28.7287, 31.6856, 34.6424, 37.5992], 1e-4);
		expectNear(found.ahead(5), [25.8, 28.7, 31.7, 34.6, 37.6], 0.05);
	});
});

describe('HoltWinters of R 4.2.2, fixed weights', () => {
	it('simple, Nile', () => {
		const found = simpleSmoothing(nile, 0.2);
		expect(found.sumOfSquares).toBeCloseTo(2043111.45156, 4);
		expect(found.level).toBeCloseTo(821.316976184, 8);
		expectNear(found.fitted.slice(0, 4), [1120, 1128, 1095, 1118], 1e-9);
	});

	it('with trend, Nile', () => {
		const found = trendSmoothing(nile, 0.3, 0.1);
		expect(found.sumOfSquares).toBeCloseTo(2307108.48843, 4);
		expect(found.level).toBeCloseTo(784.088298514, 8);
		expect(found.trend).toBeCloseTo(-11.205201381, 8);
		expectNear(found.fitted.slice(0, 3), [1200, 1161.79, 1210.5893], 1e-9);
	});

	it('with trend and multiplicative season, airline passengers', () => {
		const weights = { level: 0.3, trend: 0.05, season: 0.4 };
		const found = seasonSmoothing(passengers, 12, 'multiplicative', weights);
		expect(found.sumOfSquares).toBeCloseTo(22971.0074185, 6);
		const next = [452.081434, 432.10302, 496.873045, 507.785651, 521.83719, 596.781026];
		expectNear(found.ahead(6), next, 1e-6);
	});

	it('with additive season and no trend, Nottingham', () => {
		const weights = { level: 0.2, trend: null, season: 0.3 };
		const found = seasonSmoothing(nottingham, 12, 'additive', weights);
		expect(found.sumOfSquares).toBeCloseTo(1536.58379441, 7);
		expect(found.level).toBeCloseTo(49.1776544033, 9);
		const next = [39.609624, 39.57108, 42.377421, 46.334229, 52.161702, 58.393363];
		const later = [61.292476, 61.557523, 57.407478, 49.099339, 44.418009, 38.601202];
		expectNear(found.ahead(12), [...next, ...later], 1e-6);
	});
});

describe('HoltWinters of R 4.2.2, weights by least squares', () => {
	it('simple, Nile', () => {
		const found = fitSimple(nile);
		expectNear([found.weights.level], [0.2465579], 1e-3);
		expect(found.sumOfSquares).toBeCloseTo(2038871.8, 0);
	});

	it('with trend and multiplicative season, airline passengers', () => {
		const found = fitSeason(passengers, 12, 'multiplicative');
		const { level, trend, season } = found.weights;
		expectNear([level, trend!, season!], [0.2755925, 0.032693, 0.8707292], 1e-3);
		expectNear([found.sumOfSquares], [16570.7779], 0.05);
	});
});

// decompose() of R 4.2.2, run.
it('the seasonal figure of the airline passengers', () => {
	const figure = [0.9102304, 0.8836253, 1.0073663, 0.975906, 0.981378, 1.1127758];
	const later = [1.2265555, 1.219911, 1.0604919, 0.9217572, 0.8011781, 0.8988244];
	const found = decompose(passengers, 12, 'multiplicative').figure;
	expectNear(found, [...figure, ...later], 1e-7);
});

// croston() of the forecast package 8.20 of R, run; the correction is the factor 1 - weight / 2.
describe('Croston, and Syntetos and Boylan', () => {
	const values = [0, 0, 5, 0, 0, 3, 0, 4, 0, 0, 0, 6];

	it.each([
		[0.1, 1.6106312292, 1.5300996678],
		[0.2, 1.5736842105, 1.4163157895]
	])('weight %d', (weight, plain, corrected) => {
		expectNear([croston(values, weight, false).perPeriod], [plain], 1e-9);
		expectNear([croston(values, weight, true).perPeriod], [corrected], 1e-9);
	});

	it('size and interval', () => {
		const found = croston(values, 0.1, false);
		expectNear([found.size, found.interval], [4.848, 3.01], 1e-12);
	});
});

// accuracy(naive(window(Nile, end = 1950))) of the forecast package of R, run.
it('errors of the naive forecast of the last twenty years of the Nile', () => {
	const { mae, rmse, mase } = accuracyOf(backTest(nile, 20, [80], naiveAhead));
	expectNear([mae, rmse, mase!], [101.95, 123.0623826, 0.7603899169], 1e-7);
});
