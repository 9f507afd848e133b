/**
 * The shape that cracking leaves in the release curve, and the search for it.
 *
 * Beans crack at moments spread like a bell around the half-cracked moment; each gives off its steam
 * over a few seconds; what has left then can't leave later, so the release stays lower for a while.
 * All of that is seen through the sensor's lag. Under it lies the base release, a polynomial of
 * degree 5 in time. The search fits base and burst together, by least squares, for each moment and
 * each spread: since the humidity itself is fitted, behind the lag, its noise stays white and nothing
 * is amplified.
 */
import { lagStep } from './lag.ts';

/** What happens to the water of a burst. */
export interface BurstModel {
	/** Seconds over which a cracked bean gives off its steam. */
	readonly steamS: number;
	/** Share of the burst's water that the base release misses each second afterwards, 1/s. */
	readonly depletionPerS: number;
	/** Rate at which that fades, 1/s. */
	readonly fadePerS: number;
}

/**
 * Common practice says that what leaves early can't leave late, with no source for a figure. The
 * depletion is an effective figure, not a water balance: it also stands for the beans' cooling by the
 * burst, and only what a polynomial can't follow of it counts. `tests/support/deriveDepletion.ts`
 * finds the value that takes the mean error of the half-cracked moment to nought on simulated roasts
 * (the `tuning` seeds); without it the moment is found about 9 s early.
 */
export const BURST_MODEL: BurstModel = { steamS: 5, depletionPerS: 0.03, fadePerS: 0.01 };

/** Standard deviations of the moments of cracking that are tried, s. */
export const SPREADS_S: readonly number[] = [7, 9.5, 12.5, 16, 20];

const BASE_DEGREE = 5;
/** A bell is cut off here, in standard deviations. */
const BELL_REACH = 3.5;
/** Places before the window from which a burst can still reach into it. */
const PAD = Math.ceil(BELL_REACH * SPREADS_S.at(-1)!);

/** The best burst in a window. Places count from the window's first. */
export interface BurstFit {
	/** The half-cracked moment, in fractional places. */
	readonly place: number;
	readonly spreadS: number;
	/** Area of the burst before depletion, in the series' unit times seconds. */
	readonly area: number;
	/** Standard deviation of what neither base nor burst explains. */
	readonly residual: number;
	/** How far the burst stands out of the residual: its size over its own standard error. */
	readonly signal: number;
	/** Standard error of `place` from the residual alone, s. */
	readonly placeError: number;
	/** The best single step of the level instead of a burst, as unlogged changes of the air make. */
	readonly step: { readonly place: number; readonly signal: number };
}

/** The parts of the search that depend on the window's length and the lag alone. */
interface Bank {
	readonly base: readonly Float64Array[];
	/** For each spread, one over the length of the burst at each place after taking out the base. */
	readonly inverseNorm: readonly Float64Array[];
	readonly stepInverseNorm: Float64Array;
}

const banks = new Map<string, Bank>();
const BANKS_KEPT = 64;

/**
 * The burst of greatest signal whose half-cracked moment lies from place `first` to place `last` of
 * the series, or null when none rises above the base or the series is too short to tell.
 */
export function fitBurst(
	shown: Float64Array,
	lagS: number,
	first: number,
	last: number,
	model: BurstModel = BURST_MODEL
): BurstFit | null {
	const count = shown.length;
	if (count < 4 * (BASE_DEGREE + 1) || last - first < 2) return null;
	const bank = bankFor(count, lagS, model);
	const residual = withoutBase(shown, bank.base);
	const total = dot(residual, residual);
	if (!(total > 0)) return null;
	const seen = throughBurst(residual, lagS, model);
	const gains = SPREADS_S.map((spread, s) =>
		gainsAlong(seen, spread, bank.inverseNorm[s]!, first, last)
	);
	const best = bestOf(gains);
	if (!best) return null;
	const step = bestStep(residual, lagS, bank.stepInverseNorm);
	const degrees = Math.max(1, count - BASE_DEGREE - 4);
	const variance = Math.max(total - best.gain, 0) / degrees;
	const inverseNorm = bank.inverseNorm[best.s]![first + best.at]!;
	const curvature = Math.max(0, -best.curvature);
	return {
		place: first + best.place,
		spreadS: best.spreadS,
		area: Math.sqrt(best.gain) * inverseNorm,
		residual: Math.sqrt(variance),
		signal: Math.sqrt(best.gain / Math.max(variance, 1e-300)),
		placeError: Math.sqrt((2 * variance) / Math.max(curvature, 1e-300)),
		step: { place: step.place, signal: Math.sqrt(step.gain / Math.max(variance, 1e-300)) }
	};
}

/**
 * The burst of unit area on a grid of `count` seconds, without lag and depletion: what is drawn and
 * taken off the release to leave the base.
 */
export function burstShape(
	count: number,
	place: number,
	spreadS: number,
	model: BurstModel = BURST_MODEL
): Float64Array {
	const { shown, now, before } = lagStep(model.steamS);
	const shape = new Float64Array(count);
	let steam = 0;
	let bellBefore = 0;
	const start = Math.min(0, Math.floor(place - BELL_REACH * spreadS) - 1);
	for (let i = start; i < count; i++) {
		const bell = bellAt((i - place) / spreadS) / spreadS;
		steam = shown * steam + now * bell + before * bellBefore;
		bellBefore = bell;
		if (i >= 0) shape[i] = steam;
	}
	return shape;
}

function bellAt(z: number): number {
	return Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
}

function bankFor(count: number, lagS: number, model: BurstModel): Bank {
	const { steamS, depletionPerS, fadePerS } = model;
	const key = [count, lagS, steamS, depletionPerS, fadePerS].join('/');
	const known = banks.get(key);
	if (known) return known;
	if (banks.size >= BANKS_KEPT) banks.delete(banks.keys().next().value!);
	const bank = makeBank(count, lagS, model);
	banks.set(key, bank);
	return bank;
}

function makeBank(count: number, lagS: number, model: BurstModel): Bank {
	const base = orthonormalPolynomials(count, BASE_DEGREE);
	const baseSeen = base.map((polynomial) => throughBurst(polynomial, lagS, model));
	const inverseNorm = SPREADS_S.map((spread) => {
		const lengths = lengthsAlong(spread, count, lagS, model);
		for (const seen of baseSeen) {
			for (let i = 0; i < count; i++) lengths[i]! -= correlate(seen, spread, i) ** 2;
		}
		return lengths.map(inverseRoot);
	});
	return { base, inverseNorm, stepInverseNorm: stepNorms(base, lagS) };
}

function inverseRoot(square: number): number {
	return square > 1e-12 ? 1 / Math.sqrt(square) : 0;
}

/** Squared length, within the window, of the burst as the sensor shows it, for each place. */
function lengthsAlong(
	spread: number,
	count: number,
	lagS: number,
	model: BurstModel
): Float64Array {
	const shape = shownBurst(spread, count, lagS, model);
	const sums = new Float64Array(shape.length + 1);
	for (let i = 0; i < shape.length; i++) sums[i + 1] = sums[i]! + shape[i]! ** 2;
	// The burst at place i covers shape places PAD - i to PAD - i + count.
	return Float64Array.from({ length: count }, (_, i) => {
		return sums[Math.min(shape.length, PAD - i + count)]! - sums[Math.max(0, PAD - i)]!;
	});
}

/** The burst at place PAD, depleted and lagged, on a long enough window. */
function shownBurst(spread: number, count: number, lagS: number, model: BurstModel): Float64Array {
	const shape = burstShape(PAD + count, PAD, spread, model);
	const fade = Math.exp(-model.fadePerS);
	const { shown, now, before } = lagStep(lagS);
	let missing = 0;
	let inputBefore = 0;
	let output = 0;
	return shape.map((value) => {
		missing = fade * missing + value;
		const input = value - model.depletionPerS * missing;
		output = shown * output + now * input + before * inputBefore;
		inputBefore = input;
		return output;
	});
}

/**
 * The transpose of lag, depletion and steam applied to a series of the window: its product with a
 * bell around a place is the series' product with the whole burst there. PAD places come first.
 */
function throughBurst(series: Float64Array, lagS: number, model: BurstModel): Float64Array {
	const result = new Float64Array(PAD + series.length);
	result.set(series, PAD);
	transposeLag(result, lagS);
	const fade = Math.exp(-model.fadePerS);
	let missing = 0;
	for (let i = result.length - 1; i >= 0; i--) {
		missing = fade * missing + result[i]!;
		result[i]! -= model.depletionPerS * missing;
	}
	transposeLag(result, model.steamS);
	return result;
}

function transposeLag(series: Float64Array, lagS: number) {
	const { shown, now, before } = lagStep(lagS);
	let after = 0;
	for (let i = series.length - 1; i >= 0; i--) {
		const here = shown * after + series[i]!;
		series[i] = now * here + before * after;
		after = here;
	}
}

const bells = new Map<number, Float64Array>();

function bellOf(spread: number): Float64Array {
	let bell = bells.get(spread);
	if (!bell) {
		const reach = Math.ceil(BELL_REACH * spread);
		bell = Float64Array.from(
			{ length: 2 * reach + 1 },
			(_, i) => bellAt((i - reach) / spread) / spread
		);
		bells.set(spread, bell);
	}
	return bell;
}

/** Product of a padded series with the bell around a place of the window. */
function correlate(padded: Float64Array, spread: number, place: number): number {
	const bell = bellOf(spread);
	const start = PAD + place - (bell.length - 1) / 2;
	const from = Math.max(0, -start);
	const to = Math.min(bell.length, padded.length - start);
	let sum = 0;
	for (let k = from; k < to; k++) sum += bell[k]! * padded[start + k]!;
	return sum;
}

/** Drop of the residual sum of squares by a burst at each place; nought where it would be negative. */
function gainsAlong(
	seen: Float64Array,
	spread: number,
	inverseNorm: Float64Array,
	first: number,
	last: number
): Float64Array {
	const gains = new Float64Array(last - first + 1);
	for (let i = first; i <= last; i++) {
		const signal = correlate(seen, spread, i) * inverseNorm[i]!;
		gains[i - first] = signal > 0 ? signal * signal : 0;
	}
	return gains;
}

interface Best {
	readonly s: number;
	readonly at: number;
	readonly place: number;
	readonly spreadS: number;
	readonly gain: number;
	/** Second difference of the gain along the places. */
	readonly curvature: number;
}

/** The highest gain, its place refined by the parabola through its neighbours, likewise its spread. */
function bestOf(gains: readonly Float64Array[]): Best | null {
	let s = 0;
	let at = -1;
	let gain = 0;
	for (const [row, values] of gains.entries()) {
		for (let i = 0; i < values.length; i++) {
			if (values[i]! > gain) {
				gain = values[i]!;
				s = row;
				at = i;
			}
		}
	}
	if (at < 0) return null;
	const along = gains[s]!;
	const place = at + vertex(along[at - 1], gain, along[at + 1]);
	const between = vertex(gains[s - 1]?.[at], gain, gains[s + 1]?.[at]);
	const neighbour = SPREADS_S[s + Math.sign(between)] ?? SPREADS_S[s]!;
	const spreadS = SPREADS_S[s]! * (neighbour / SPREADS_S[s]!) ** Math.abs(between);
	const curvature = (along[at - 1] ?? gain) - 2 * gain + (along[at + 1] ?? gain);
	return { s, at, place, spreadS, gain, curvature };
}

/** Where the parabola through three even values peaks, from the middle one; 0 at an edge. */
function vertex(before: number | undefined, middle: number, after: number | undefined): number {
	if (before === undefined || after === undefined) return 0;
	const bend = before - 2 * middle + after;
	return bend < 0 ? Math.max(-0.5, Math.min(0.5, (before - after) / (2 * bend))) : 0;
}

function bestStep(residual: Float64Array, lagS: number, inverseNorm: Float64Array) {
	const sums = stepProducts(residual, lagS);
	let best = { place: 0, gain: 0 };
	for (let i = 0; i < sums.length; i++) {
		const gain = (sums[i]! * inverseNorm[i]!) ** 2;
		if (gain > best.gain) best = { place: i, gain };
	}
	return best;
}

/** Product of a series with a lagged unit step that begins at each place. */
function stepProducts(series: Float64Array, lagS: number): Float64Array {
	const result = series.slice();
	transposeLag(result, lagS);
	for (let i = result.length - 2; i >= 0; i--) result[i]! += result[i + 1]!;
	return result;
}

function stepNorms(base: readonly Float64Array[], lagS: number): Float64Array {
	const count = base[0]!.length;
	const step = new Float64Array(count);
	const { shown, now, before } = lagStep(lagS);
	for (let i = 0; i < count; i++) step[i] = i === 0 ? now : shown * step[i - 1]! + now + before;
	const lengths = new Float64Array(count);
	let sum = 0;
	for (let i = count - 1; i >= 0; i--) lengths[i] = sum += step[count - 1 - i]! ** 2;
	for (const polynomial of base) {
		const products = stepProducts(polynomial, lagS);
		for (let i = 0; i < count; i++) lengths[i]! -= products[i]! ** 2;
	}
	// A step at the very ends is no step: nothing of it is left after the base.
	return lengths.map((square, i) => (square > 1e-3 * (count - i) ? 1 / Math.sqrt(square) : 0));
}

function withoutBase(series: Float64Array, base: readonly Float64Array[]): Float64Array {
	const result = series.slice();
	for (const polynomial of base) takeOff(result, polynomial);
	return result;
}

function takeOff(series: Float64Array, direction: Float64Array) {
	const share = dot(series, direction);
	for (let i = 0; i < series.length; i++) series[i]! -= share * direction[i]!;
}

function dot(a: Float64Array, b: Float64Array): number {
	let sum = 0;
	for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
	return sum;
}

/** Polynomials of degree 0 to `degree` on `count` places, at right angles and of length one. */
function orthonormalPolynomials(count: number, degree: number): Float64Array[] {
	const basis: Float64Array[] = [];
	for (let k = 0; k <= degree; k++) {
		const next = Float64Array.from({ length: count }, (_, i) => ((2 * i) / (count - 1) - 1) ** k);
		for (const pass of [1, 2]) for (const earlier of basis) if (pass) takeOff(next, earlier);
		const length = Math.sqrt(dot(next, next));
		basis.push(next.map((value) => value / length));
	}
	return basis;
}
