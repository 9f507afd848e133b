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
import { mirroredProductAt, productAt } from '../curve/product.ts';
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
	/** Standard error of `spreadS` from the residual alone, s; half the step to the next spread tried where
	 * the best is the narrowest or the widest. */
	readonly spreadError: number;
	/** The best single step of the level instead of a burst, as unlogged changes of the air make. */
	readonly step: { readonly place: number; readonly signal: number };
}

/** The parts of the search that do not depend on the curve. */
interface Bank {
	readonly base: readonly Float64Array[];
	/** The base as a burst sees it. */
	readonly baseSeen: readonly Float64Array[];
	/** For each spread, sums of squares of the burst at place PAD as the sensor shows it. */
	readonly squares: readonly Float64Array[];
	/** For each spread, one over the length of the burst at each place after taking out the base; NaN where
	 * nobody asked yet. */
	readonly inverseNorm: readonly Float64Array[];
	/** The same of a step. */
	readonly stepInverseNorm: Float64Array;
}

const banks = new Map<string, Bank>();
const bases = new Map<number, readonly Float64Array[]>();
const KEPT = 64;

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
	const best = bestBurst(gainsOf(seen, bank, first, last), first, last);
	if (!best) return null;
	const step = bestStep(residual, lagS, bank.stepInverseNorm);
	const degrees = Math.max(1, count - BASE_DEGREE - 4);
	const variance = Math.max(total - best.gain, 0) / degrees;
	const inverseNorm = inverseNormAt(bank, best.s, best.at);
	const curvature = Math.max(0, -best.curvature);
	return {
		place: best.place,
		spreadS: best.spreadS,
		area: Math.sqrt(best.gain) * inverseNorm,
		residual: Math.sqrt(variance),
		signal: Math.sqrt(best.gain / Math.max(variance, 1e-300)),
		placeError: Math.sqrt((2 * variance) / Math.max(curvature, 1e-300)),
		spreadError: spreadErrorOf(best, variance),
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
		const z = (i - place) / spreadS;
		const bell = Math.abs(z) < NOTHING_BEYOND ? bellAt(z) / spreadS : 0;
		steam = shown * steam + now * bell + before * bellBefore;
		bellBefore = bell;
		if (i >= 0) shape[i] = steam;
	}
	return shape;
}

/** Standard deviations beyond which a bell is below the last digit. */
const NOTHING_BEYOND = 9;

function bellAt(z: number): number {
	return Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
}

function bankFor(count: number, lagS: number, model: BurstModel): Bank {
	const { steamS, depletionPerS, fadePerS } = model;
	const key = [count, lagS, steamS, depletionPerS, fadePerS].join('/');
	return kept(banks, key, () => makeBank(count, lagS, model));
}

/** The value of a key, made when it isn't there; the oldest goes when there are too many. */
function kept<K, V>(known: Map<K, V>, key: K, make: () => V): V {
	const found = known.get(key);
	if (found !== undefined) return found;
	const made = make();
	if (known.size >= KEPT) known.delete(known.keys().next().value!);
	known.set(key, made);
	return made;
}

function makeBank(count: number, lagS: number, model: BurstModel): Bank {
	const base = kept(bases, count, () => orthonormalPolynomials(count, BASE_DEGREE));
	const seen = columns(base.length, PAD + count + PAD);
	const squares = columns(SPREADS_S.length, PAD + count + 1);
	const inverseNorm = columns(SPREADS_S.length, count);
	for (const [k, polynomial] of base.entries()) throughBurst(polynomial, lagS, model, seen[k]!);
	for (const [s, spread] of SPREADS_S.entries()) {
		shownSquares(spread, lagS, model, squares[s]!);
		inverseNorm[s]!.fill(NaN);
	}
	return { base, baseSeen: seen, squares, inverseNorm, stepInverseNorm: stepNorms(base, lagS) };
}

/** Columns of one length side by side in one piece of memory, which is got faster than many. */
function columns(count: number, length: number): Float64Array[] {
	const all = new Float64Array(count * length);
	return Array.from({ length: count }, (_, k) => all.subarray(k * length, (k + 1) * length));
}

/** One over the length, within the window and less the base, of a burst as the sensor shows it. */
function inverseNormAt(bank: Bank, s: number, place: number): number {
	const known = bank.inverseNorm[s]!;
	if (!Number.isNaN(known[place]!)) return known[place]!;
	const squares = bank.squares[s]!;
	// The burst at a place covers the shape from PAD less that place on, as long as the window.
	const from = PAD - place;
	let square =
		squares[Math.min(squares.length - 1, from + known.length)]! - squares[Math.max(0, from)]!;
	const bell = bellOf(SPREADS_S[s]!);
	for (const seen of bank.baseSeen) square -= mirroredProductAt(bell, seen, PAD + place) ** 2;
	return (known[place] = square > 1e-12 ? 1 / Math.sqrt(square) : 0);
}

const depleted = new Map<string, Float64Array>();
/** Depleted bursts are made in lengths of so many places, since longer ones begin as shorter ones do. */
const LENGTHS_OF = 512;

/** The burst at place PAD with what it takes from the base, before any lag, `count` places or more. */
function depletedBurst(spread: number, count: number, model: BurstModel): Float64Array {
	const length = LENGTHS_OF * Math.ceil(count / LENGTHS_OF);
	const { steamS, depletionPerS, fadePerS } = model;
	const key = `${spread}/${length}/${steamS}/${depletionPerS}/${fadePerS}`;
	return kept(depleted, key, () => {
		const shape = burstShape(length, PAD, spread, model);
		const fade = Math.exp(-fadePerS);
		let missing = 0;
		for (let i = 0; i < length; i++) {
			missing = fade * missing + shape[i]!;
			shape[i] = shape[i]! - depletionPerS * missing;
		}
		return shape;
	});
}

/**
 * Of the burst at place PAD as the sensor shows it: writes into `sums` the sum of the squares before each
 * place, and of all.
 */
function shownSquares(spread: number, lagS: number, model: BurstModel, sums: Float64Array) {
	const places = sums.length - 1;
	const burst = depletedBurst(spread, places, model);
	const { shown, now, before } = lagStep(lagS);
	let inputBefore = 0;
	let output = 0;
	let sum = 0;
	for (let i = 0; i < places; i++) {
		const input = burst[i]!;
		output = shown * output + now * input + before * inputBefore;
		inputBefore = input;
		sum += output * output;
		sums[i + 1] = sum;
	}
}

/**
 * The transpose of lag, depletion and steam applied to a series of the window: its product with a
 * bell around a place is the series' product with the whole burst there. PAD places come first and, so
 * that a bell never reaches out of it, PAD empty ones last.
 */
function throughBurst(
	series: Float64Array,
	lagS: number,
	model: BurstModel,
	result: Float64Array = new Float64Array(PAD + series.length + PAD)
): Float64Array {
	const lag = lagStep(lagS);
	const steam = lagStep(model.steamS);
	const fade = Math.exp(-model.fadePerS);
	let unlagged = 0;
	let missing = 0;
	let steamed = 0;
	// The three run side by side: each needs of the one before no more than this place.
	for (let i = PAD + series.length - 1; i >= 0; i--) {
		const lagAfter = unlagged;
		unlagged = lag.shown * lagAfter + (i < PAD ? 0 : series[i - PAD]!);
		const passed = lag.now * unlagged + lag.before * lagAfter;
		missing = fade * missing + passed;
		const left = passed - model.depletionPerS * missing;
		const steamAfter = steamed;
		steamed = steam.shown * steamAfter + left;
		result[i] = steam.now * steamed + steam.before * steamAfter;
	}
	return result;
}

const bells = new Map<number, Float64Array>();

/** A bell from its middle outwards, cut off at its reach. */
function bellOf(spread: number): Float64Array {
	return kept(bells, spread, () => {
		const reach = Math.ceil(BELL_REACH * spread);
		return Float64Array.from({ length: reach + 1 }, (_, i) => bellAt(i / spread) / spread);
	});
}

/** Drop of the residual sum of squares by a burst of a spread at a place; NaN where there is none. */
type Gains = (s: number, place: number) => number;

/** Gains, worked out where they are asked for; nought where the burst would be negative. */
function gainsOf(seen: Float64Array, bank: Bank, first: number, last: number): Gains {
	const known = SPREADS_S.map(() => new Float64Array(last - first + 1).fill(NaN));
	return (s, place) => {
		const row = known[s];
		if (row === undefined || place < first || place > last) return NaN;
		if (!Number.isNaN(row[place - first]!)) return row[place - first]!;
		const product = mirroredProductAt(bellOf(SPREADS_S[s]!), seen, PAD + place);
		// Only a burst that would be positive needs its length: that is the dear part of a lag never met.
		const signal = product > 0 ? product * inverseNormAt(bank, s, place) : 0;
		return (row[place - first] = signal * signal);
	};
}

interface Best {
	readonly s: number;
	readonly at: number;
	/** `at` with its fraction. */
	readonly place: number;
	readonly spreadS: number;
	readonly gain: number;
	/** Second difference of the gain along the places. */
	readonly curvature: number;
	/** The same along the spreads tried; NaN at the first and the last. */
	readonly spreadCurvature: number;
}

/** Standard error of a best spread, s, from how fast the gain falls off beside it. */
function spreadErrorOf({ s, spreadS, spreadCurvature }: Best, variance: number): number {
	const [below, above] = [SPREADS_S[s - 1], SPREADS_S[s + 1]];
	if (below === undefined || above === undefined) {
		return 0.5 * spreadS * Math.log((above ?? spreadS) / (below ?? spreadS));
	}
	const steps = Math.sqrt((2 * variance) / Math.max(-spreadCurvature, 1e-300));
	return 0.5 * spreadS * Math.log(above / below) * Math.min(steps, 2);
}

/**
 * The search looks at every third place and every other spread first, then at all around those that come
 * near the best: bells are so wide and so alike that the gain falls by some 6 % at most between looks.
 */
const LOOK_EVERY = { places: 3, spreads: 2 } as const;
const NEAR_BEST = 0.85;

/** The highest gain, its place refined by the parabola through its neighbours, likewise its spread. */
function bestBurst(gainAt: Gains, first: number, last: number): Best | null {
	const { s, at, gain } = highestGain(gainAt, first, last);
	if (at < 0) return null;
	const [before, after] = [gainAt(s, at - 1), gainAt(s, at + 1)];
	const [narrower, wider] = [gainAt(s - 1, at), gainAt(s + 1, at)];
	const between = vertex(narrower, gain, wider);
	const neighbour = SPREADS_S[s + Math.sign(between)] ?? SPREADS_S[s]!;
	const spreadS = SPREADS_S[s]! * (neighbour / SPREADS_S[s]!) ** Math.abs(between);
	const held = (value: number) => (Number.isNaN(value) ? gain : value);
	const curvature = held(before) - 2 * gain + held(after);
	const spreadCurvature = narrower - 2 * gain + wider;
	const place = at + vertex(before, gain, after);
	return { s, at, place, spreadS, gain, curvature, spreadCurvature };
}

function highestGain(gainAt: Gains, first: number, last: number) {
	let best = { s: 0, at: -1, gain: 0 };
	const looks: { s: number; at: number; gain: number }[] = [];
	const look = (s: number, at: number) => {
		const gain = gainAt(s, at);
		if (gain > best.gain) best = { s, at, gain };
		return gain;
	};
	for (let s = 0; s < SPREADS_S.length; s += LOOK_EVERY.spreads) {
		for (let at = first; at <= last; at += LOOK_EVERY.places) {
			looks.push({ s, at, gain: look(s, at) });
		}
		looks.push({ s, at: last, gain: look(s, last) });
	}
	const near = NEAR_BEST * best.gain;
	for (const { s, at, gain } of looks) {
		if (gain < near) continue;
		for (let wider = -1; wider <= 1; wider++) {
			for (let by = 1 - LOOK_EVERY.places; by < LOOK_EVERY.places; by++) look(s + wider, at + by);
		}
	}
	return best;
}

/** Where the parabola through three even values peaks, from the middle one; 0 at an edge (NaN). */
function vertex(before: number, middle: number, after: number): number {
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
function stepProducts(
	series: Float64Array,
	lagS: number,
	result: Float64Array = new Float64Array(series.length)
): Float64Array {
	const { shown, now, before } = lagStep(lagS);
	let here = 0;
	let sum = 0;
	for (let i = series.length - 1; i >= 0; i--) {
		const after = here;
		here = shown * after + series[i]!;
		sum += now * here + before * after;
		result[i] = sum;
	}
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
	const products = step;
	for (const polynomial of base) {
		stepProducts(polynomial, lagS, products);
		for (let i = 0; i < count; i++) lengths[i]! -= products[i]! ** 2;
	}
	// A step at the very ends is no step: nothing of it is left after the base.
	for (let i = 0; i < count; i++) {
		lengths[i] = lengths[i]! > 1e-3 * (count - i) ? 1 / Math.sqrt(lengths[i]!) : 0;
	}
	return lengths;
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
	return productAt(a, b, 0);
}

/** Polynomials of degree 0 to `degree` on `count` places, at right angles and of length one. */
function orthonormalPolynomials(count: number, degree: number): Float64Array[] {
	const basis: Float64Array[] = [];
	for (let k = 0; k <= degree; k++) {
		// Each is the one before times the place, less its share of all before it, taken off twice.
		const before = basis[k - 1];
		const next = new Float64Array(count).fill(1);
		if (before) for (let i = 0; i < count; i++) next[i] = ((2 * i) / (count - 1) - 1) * before[i]!;
		for (const pass of [1, 2]) for (const earlier of basis) if (pass) takeOff(next, earlier);
		const length = Math.sqrt(dot(next, next));
		for (let i = 0; i < count; i++) next[i]! /= length;
		basis.push(next);
	}
	return basis;
}
