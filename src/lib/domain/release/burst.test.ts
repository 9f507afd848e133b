import { describe, expect, it } from 'vitest';
import { evenNoise } from '#support/sampleLog.ts';
import { BURST_MODEL, SPREADS_S, burstShape, fitBurst } from './burst.ts';
import { lagged } from './lag.ts';

const COUNT = 220;
const noise = evenNoise(0.1);
const base = (i: number) => 4 + i / 40 - ((i - 100) / 90) ** 3;

/** A burst as the sensor shows it, made step by step from the words of the header. */
function shownBurst(place: number, spreadS: number, lagS: number): Float64Array {
	const fade = Math.exp(-BURST_MODEL.fadePerS);
	let missing = 0;
	const depleted = burstShape(COUNT, place, spreadS).map((value) => {
		missing = fade * missing + value;
		return value - BURST_MODEL.depletionPerS * missing;
	});
	return lagged(depleted, lagS);
}

function curve(area: number, place = 130, spreadS = 12.5, lagS = 8, sd = 1): Float64Array {
	const burst = shownBurst(place, spreadS, lagS);
	return Float64Array.from({ length: COUNT }, (_, i) => base(i) + area * burst[i]! + sd * noise());
}

/** Least squares by solving the normal equations of base and burst: slow and obvious. */
function sumOfSquares(series: Float64Array, burst: Float64Array | null) {
	const columns: Float64Array[] = Array.from({ length: 6 }, (_, k) =>
		Float64Array.from({ length: COUNT }, (_, i) => ((2 * i) / (COUNT - 1) - 1) ** k)
	);
	if (burst) columns.push(burst);
	const product = (a: Float64Array, b: Float64Array): number =>
		a.reduce((sum, value, i) => sum + value * b[i]!, 0);
	const rows = columns.map((a) => [...columns.map((b) => product(a, b)), product(a, series)]);
	for (let k = 0; k < rows.length; k++) {
		for (let j = k + 1; j < rows.length; j++) {
			const share = rows[j]![k]! / rows[k]![k]!;
			for (let c = k; c <= rows.length; c++) rows[j]![c]! -= share * rows[k]![c]!;
		}
	}
	const weights = new Array<number>(rows.length).fill(0);
	for (let k = rows.length - 1; k >= 0; k--) {
		let value = rows[k]![rows.length]!;
		for (let c = k + 1; c < rows.length; c++) value -= rows[k]![c]! * weights[c]!;
		weights[k] = value / rows[k]![k]!;
	}
	const rest = series.map(
		(value, i) => value - columns.reduce((sum, column, k) => sum + weights[k]! * column[i]!, 0)
	);
	return { sum: product(rest, rest), area: burst ? weights[6]! : 0 };
}

describe('the search for a burst', () => {
	it('finds the same place, spread and area as a slow obvious least squares', () => {
		const series = curve(60);
		const found = fitBurst(series, 8, 90, 180)!;
		let best = { sum: Infinity, place: 0, spreadS: 0, area: 0 };
		for (const spreadS of SPREADS_S) {
			for (let place = 90; place <= 180; place++) {
				const tried = sumOfSquares(series, shownBurst(place, spreadS, 8));
				if (tried.area > 0 && tried.sum < best.sum) best = { ...tried, place, spreadS };
			}
		}
		expect(Math.abs(found.place - best.place)).toBeLessThanOrEqual(0.5);
		// The search cuts its bells off at 3.5 standard deviations.
		expect(found.area / best.area).toBeCloseTo(1, 3);
		expect(found.residual / Math.sqrt(best.sum / (COUNT - 9))).toBeCloseTo(1, 3);
		const gain = sumOfSquares(series, null).sum - best.sum;
		expect(found.signal / (Math.sqrt(gain) / found.residual)).toBeCloseTo(1, 3);
	});

	it.each([0, 5, 15])('finds a burst where it was put, lag %i s', (lagS) => {
		const found = fitBurst(curve(60, 131.4, 12.5, lagS, 0.01), lagS, 90, 180)!;
		expect(found.place).toBeCloseTo(131.4, 1);
		expect(found.area / 60).toBeCloseTo(1, 1);
		expect(found.spreadS / 12.5).toBeCloseTo(1, 1);
	});

	it('tells its standard error from the noise', () => {
		// Forty curves with other noise: the places scatter as much as each says of itself.
		const found = Array.from({ length: 40 }, () => fitBurst(curve(40), 8, 90, 180)!);
		const mean = found.reduce((sum, fit) => sum + fit.place, 0) / found.length;
		const scatter = Math.sqrt(
			found.reduce((sum, fit) => sum + (fit.place - mean) ** 2, 0) / found.length
		);
		const said = found.reduce((sum, fit) => sum + fit.placeError, 0) / found.length;
		expect(scatter / said).toBeGreaterThan(0.6);
		expect(scatter / said).toBeLessThan(1.6);
	});

	it('hardly sees one where there is none, and sees a step as a step', () => {
		const without = Array.from({ length: 20 }, () => fitBurst(curve(0), 8, 90, 180)!.signal);
		expect(Math.max(...without)).toBeLessThan(5.2);
		const step = lagged(
			Float64Array.from({ length: COUNT }, (_, i) => (i < 140 ? 0 : 2)),
			8
		);
		const stepped = fitBurst(
			curve(0).map((value, i) => value + step[i]!),
			8,
			90,
			180
		)!;
		expect(stepped.step.signal).toBeGreaterThan(stepped.signal);
		expect(Math.abs(stepped.step.place - 140)).toBeLessThan(3);
	});

	it('has no answer for a short, even or empty series, or a gate too narrow', () => {
		expect(fitBurst(new Float64Array(0), 8, 0, 0)).toBeNull();
		expect(fitBurst(new Float64Array(20).fill(1), 8, 5, 15)).toBeNull();
		expect(fitBurst(new Float64Array(COUNT), 8, 90, 180)).toBeNull();
		expect(fitBurst(curve(60), 8, 90, 91)).toBeNull();
		expect(fitBurst(curve(60), 8, 190, 180)).toBeNull();
	});
});

describe('the shape of a burst', () => {
	it('holds all of its water, and its middle is the half-cracked moment plus the steam time', () => {
		const shape = burstShape(400, 150, 12);
		const area = shape.reduce((sum, value) => sum + value, 0);
		const middle = shape.reduce((sum, value, i) => sum + i * value, 0) / area;
		expect(area).toBeCloseTo(1, 3);
		expect(middle).toBeCloseTo(155, 1);
	});
	it('may begin before the grid does', () => {
		const whole = burstShape(400, 150, 12);
		const cut = burstShape(250, 0, 12);
		for (let i = 0; i < 250; i++) expect(cut[i]).toBeCloseTo(whole[i + 150]!, 7);
	});
});
