/**
 * Seeded chance for the demo data: the same seed gives the same numbers on every machine. Only
 * arithmetic that IEEE 754 fixes bit for bit is used for whole numbers; the bell curve uses
 * Math.log and Math.cos, whose last digit is rounded away before anything is written.
 */
export interface Chance {
	/** Uniform in [0, 1). */
	unit(): number;
	/** Uniform in [low, high). */
	between(low: number, high: number): number;
	/** Whole number in [low, high], both ends included. */
	whole(low: number, high: number): number;
	/** Normal with the given mean and standard deviation. */
	normal(mean?: number, sd?: number): number;
	/** Normal, pulled back to within `limit` standard deviations. */
	tame(mean: number, sd: number, limit?: number): number;
	/** True with probability `p`. */
	happens(p: number): boolean;
	/** One of the list; throws on an empty one. */
	pick<T>(list: readonly T[]): T;
	/** A new stream of its own, so that one more draw here changes nothing there. */
	branch(name: string | number): Chance;
}

/** A 32-bit hash of a text (FNV-1a with a final mix). */
function hash(text: string): number {
	let h = 0x811c9dc5;
	for (let i = 0; i < text.length; i++) h = Math.imul(h ^ text.charCodeAt(i), 0x01000193);
	h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
	h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
	return (h ^ (h >>> 16)) >>> 0;
}

/** A stream of chance from a seed, by the 32-bit generator known as mulberry. */
export function chanceFrom(seed: number | string): Chance {
	let state = hash(String(seed));
	let spare: number | null = null;
	const unit = (): number => {
		state = (state + 0x6d2b79f5) >>> 0;
		let t = Math.imul(state ^ (state >>> 15), state | 1);
		t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
		return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
	};
	const standard = (): number => {
		if (spare !== null) {
			const kept = spare;
			spare = null;
			return kept;
		}
		const radius = Math.sqrt(-2 * Math.log(1 - unit()));
		const angle = 2 * Math.PI * unit();
		spare = radius * Math.sin(angle);
		return radius * Math.cos(angle);
	};
	const between = (low: number, high: number): number => low + (high - low) * unit();
	return {
		unit,
		between,
		whole: (low, high) => low + Math.floor(unit() * (high - low + 1)),
		normal: (mean = 0, sd = 1) => mean + sd * standard(),
		tame: (mean, sd, limit = 2.5) => mean + sd * Math.max(-limit, Math.min(limit, standard())),
		happens: (p) => unit() < p,
		pick: (list) => {
			const found = list[Math.floor(unit() * list.length)];
			if (found === undefined) throw new Error('pick from an empty list');
			return found;
		},
		branch: (name) => chanceFrom(`${seed}/${name}`)
	};
}
