/** A figure of `npm run bench`: a measurement beside its reference, both taken in the same call. */
export interface Benchmark {
	readonly name: string;
	/** Of value and reference, e.g. `ms`. */
	readonly unit: string;
	/** What the ratio or the value should reach, in words, e.g. `ratio <= 50`. */
	readonly goal: string;
	/** Takes minutes: run with `--slow` only. */
	readonly slow?: boolean;
	run(): Promise<Figure | Skipped>;
}

export interface Figure {
	readonly value: number;
	readonly reference: number;
	/** As the goal counts it; says in `note` what was divided by what where it isn't value / reference. */
	readonly ratio: number;
	readonly holds: boolean;
	/** What was measured, against what, on how much. */
	readonly note?: string;
}

/** Why there is no figure. */
export interface Skipped {
	readonly skipped: string;
}

/** One entry of `npm run bench -- --json`; a skipped benchmark has null figures. */
export interface Line {
	readonly name: string;
	readonly value: number | null;
	readonly unit: string;
	readonly reference: number | null;
	readonly ratio: number | null;
	readonly goal: string;
	readonly holds: boolean | null;
	readonly note: string;
}

/** Runs a benchmark; a slow one only when asked for. Throws what the benchmark throws. */
export async function lineOf(benchmark: Benchmark, slow: boolean): Promise<Line> {
	const { name, unit, goal } = benchmark;
	const left = benchmark.slow && !slow;
	const result = left ? { skipped: 'takes minutes; add --slow' } : await benchmark.run();
	if ('skipped' in result) {
		const note = `skipped: ${result.skipped}`;
		return { name, value: null, unit, reference: null, ratio: null, goal, holds: null, note };
	}
	const { value, reference, ratio, holds, note = '' } = result;
	return { name, value, unit, reference, ratio, goal, holds, note };
}

/** A line for the terminal. */
export function lineText(line: Line): string {
	if (line.value === null) return `${line.name}: ${line.note}`;
	const figures = [
		`${line.name}: ${round(line.value)} ${line.unit}`,
		`reference ${round(line.reference)} ${line.unit}`,
		`ratio ${round(line.ratio)}`,
		`goal ${line.goal}`,
		line.holds ? 'holds' : 'DOES NOT HOLD'
	];
	return figures.join(' | ') + (line.note ? `\n    ${line.note}` : '');
}

function round(value: number | null): string {
	return value === null ? '-' : String(Number(value.toPrecision(3)));
}

/** Milliseconds that `work` takes, once. */
export async function timeMs(work: () => unknown): Promise<number> {
	const startedMs = performance.now();
	await work();
	return performance.now() - startedMs;
}

/**
 * Times several pieces of work by turns, so that a busy machine is equally unkind to each. Gives the
 * milliseconds of every round for each, in the order given; `warmUp` rounds before that aren't kept.
 */
export async function interleave(
	works: readonly (() => unknown)[],
	rounds: number,
	warmUp = 3
): Promise<readonly (readonly number[])[]> {
	const times = works.map((): number[] => []);
	for (let round = -warmUp; round < rounds; round++)
		for (const [index, work] of works.entries()) {
			const ms = await timeMs(work);
			if (round >= 0) times[index]?.push(ms);
		}
	return times;
}

/** The share `p` (0 to 1) of the sorted values, by linear interpolation. NaN without values. */
export function quantile(values: readonly number[], p: number): number {
	const sorted = [...values].sort((a, b) => a - b);
	const place = p * (sorted.length - 1);
	const below = sorted[Math.floor(place)] ?? NaN;
	const above = sorted[Math.ceil(place)] ?? NaN;
	return below + (above - below) * (place - Math.floor(place));
}

/** @see quantile */
export function median(values: readonly number[]): number {
	return quantile(values, 0.5);
}
