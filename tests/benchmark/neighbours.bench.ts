import { FINGERPRINT_POINTS, type Fingerprint } from '#lib/domain/release/fingerprint.ts';
import { packLibrary, roomFor, searchInto, type Library } from '#lib/domain/release/neighbours.ts';
import { placeInto, whiteningOf, type Whitening } from '#lib/domain/release/whitening.ts';
import { kindPurity, madeLibrary, type MadeRoast } from '#support/lotLibrary.ts';
import { median, timeMs, type Benchmark, type Figure } from './harness.ts';

const LOTS = 5000;
const TEN = 10;
const GOAL = { ms: 1, purity: 0.85 } as const;
/** Lots roasted twice to be found again, and lots roasted three times for the whitening. */
const AGAIN = 90;
const REPEATED = 36;
const TURNS = 7;
/** Queries in each turn; warping has one a turn. */
const QUERIES = 200;
/** Queries that the purity of warping is taken from. */
const WARPED = 30;

/**
 * The ten nearest of 5,000 fingerprints, exactly, from the curve of a sample on: its place among the
 * whitened and the search. Against dynamic time warping of the same curves with every lot, which may bend
 * the temperature axis freely. Seeds are those that no constant was set on.
 */
export const benchmark: Benchmark = {
	name: 'nearest lots',
	unit: 'ms',
	goal: `< ${GOAL.ms} ms and ${GOAL.purity} of ten of the same kind`,
	async run() {
		const made = { seeds: 'held back', profiles: 'mixed' } as const;
		const roasts = madeLibrary({ ...made, lots: LOTS }).flat();
		const repeats = prints(
			madeLibrary({ ...made, lots: REPEATED, roastsPerLot: 3, name: 'repeats' })
		);
		const again = prints(madeLibrary({ ...made, lots: AGAIN, roastsPerLot: 2, name: 'again' }));
		return measure(roasts, repeats, again);
	}
};

const prints = (lots: readonly (readonly MadeRoast[])[]) =>
	lots.map((lot) => lot.map(({ fingerprint }) => fingerprint));

async function measure(
	roasts: readonly MadeRoast[],
	repeats: readonly (readonly Fingerprint[])[],
	again: readonly (readonly Fingerprint[])[]
): Promise<Figure> {
	const fingerprints = roasts.map(({ fingerprint }) => fingerprint);
	const whitened = packed(fingerprints, repeats);
	const without = packed(fingerprints, []);
	const search = searcher(whitened);
	const oursMs: number[] = [];
	const warpingMs: number[] = [];
	for (let turn = -1, query = 0; turn < TURNS; turn++) {
		for (let i = 0; i < QUERIES; i++, query++) {
			const ms = await timeMs(() => search(fingerprints[query % LOTS]!, -1));
			if (turn >= 0) oursMs.push(ms);
		}
		const ms = await timeMs(() => nearestByWarping(fingerprints, query % LOTS));
		if (turn >= 0) warpingMs.push(ms);
	}
	const value = median(oursMs);
	// The quickest, which a busy machine has slowed least: the ratio is rather too low than too high.
	const reference = Math.min(...warpingMs);
	const purity = kindPurity(roasts, (i) => search(fingerprints[i]!, i));
	const fallback = searcher(without);
	const alone = kindPurity(roasts, (i) => fallback(fingerprints[i]!, i));
	const some = Array.from({ length: WARPED }, (_, i) => Math.floor((i * LOTS) / WARPED) + (i % 6));
	const warped = kindPurity(roasts, (i) => nearestByWarping(fingerprints, i), some);
	const least = Math.min(purity, alone);
	return {
		value,
		reference,
		ratio: reference / value,
		holds: value < GOAL.ms && least >= GOAL.purity,
		note:
			`median query among ${LOTS} simulated lots on three profiles; ratio is the quickest warping / ours; of the same kind among ten: ` +
			`${purity.toFixed(3)} with ${REPEATED} lots roasted three times, ${alone.toFixed(3)} without ` +
			`repeats, ${warped.toFixed(3)} by warping (${WARPED} lots); another roast of the lot itself among ` +
			`ten: ${foundAgain(whitened, fingerprints, again).toFixed(2)} of ${AGAIN} (never promised)`
	};
}

function packed(
	fingerprints: readonly Fingerprint[],
	repeats: readonly (readonly Fingerprint[])[]
): Library {
	const whitening = whiteningOf(fingerprints, repeats, 'bean');
	if (!whitening.ok) throw new Error(whitening.problems[0]?.message);
	return packLibrary(whitening.value, fingerprints);
}

/** Indexes of the ten nearest to a fingerprint, but for one. */
function searcher(library: Library): (of: Fingerprint, but: number) => number[] {
	const hits = roomFor(TEN);
	const point = new Float32Array(FINGERPRINT_POINTS);
	return (of, but) => {
		placed(library.whitening, of, point);
		searchInto(hits, point, library, (index) => index !== but);
		return [...hits.index.subarray(0, hits.count)];
	};
}

function placed(whitening: Whitening, of: Fingerprint, point: Float32Array): void {
	if (!placeInto(whitening, of, point)) throw new Error('The fingerprint has no place.');
}

/** Share of lots roasted twice whose first roast is among the ten nearest to the second. */
function foundAgain(
	{ whitening }: Library,
	fingerprints: readonly Fingerprint[],
	again: readonly (readonly Fingerprint[])[]
): number {
	const search = searcher(
		packLibrary(whitening, [...fingerprints, ...again.map(([first]) => first!)])
	);
	const found = again.filter(([, second], lot) => search(second!, -1).includes(LOTS + lot));
	return found.length / again.length;
}

/** The ten nearest but for the lot itself, by warping it onto every other. */
function nearestByWarping(fingerprints: readonly Fingerprint[], query: number): number[] {
	const from = Float64Array.from(fingerprints[query]!.curve);
	return fingerprints
		.map(({ curve }, index) => ({ index, distance: warped(from, curve) }))
		.filter(({ index }) => index !== query)
		.sort((a, b) => a.distance - b.distance)
		.slice(0, TEN)
		.map(({ index }) => index);
}

/** Dynamic time warping with squared differences and no limit on the warp (Sakoe and Chiba 1978). */
function warped(from: Float64Array, to: readonly number[]): number {
	let before = new Float64Array(to.length + 1).fill(Infinity);
	let row = new Float64Array(to.length + 1);
	before[0] = 0;
	for (const value of from) {
		row[0] = Infinity;
		for (let j = 1; j <= to.length; j++) {
			const apart = value - to[j - 1]!;
			row[j] = apart * apart + Math.min(before[j]!, before[j - 1]!, row[j - 1]!);
		}
		[before, row] = [row, before];
	}
	return before[to.length]!;
}
