/**
 * Which of a reading's key figures came out otherwise when its log was read again by another method.
 *
 * Rules:
 * 1. A figure has changed when a page would show it otherwise: a whole second, a tenth of a degree, a
 *    tenth of a per cent. Less is the arithmetic, not the coffee.
 * 2. A figure that appears or goes has changed.
 */
import type { CrackVerdict, SampleReading } from './reading.ts';

/** What a reading comes down to; null where it has none. Seconds from charge, C, shares 0 to 1. */
export interface KeyFigures {
	readonly verdict: CrackVerdict;
	readonly peakS: number | null;
	readonly temperatureC: number | null;
	readonly early: number;
	readonly middle: number;
	readonly around: number;
	readonly after: number;
	readonly sureness: number;
}

/** Least change that counts, in the figure's unit (rule 1). */
const LEAST: Readonly<Record<Exclude<keyof KeyFigures, 'verdict'>, number>> = {
	peakS: 0.5,
	temperatureC: 0.1,
	early: 0.001,
	middle: 0.001,
	around: 0.001,
	after: 0.001,
	sureness: 0.01
};

export function keyFiguresOf({
	crack,
	shares,
	sureness
}: Pick<SampleReading, 'crack' | 'shares' | 'sureness'>): KeyFigures {
	return {
		verdict: crack.verdict,
		peakS: crack.peakS,
		temperatureC: crack.temperatureC,
		...{ early: shares.early, middle: shares.middle, around: shares.around, after: shares.after },
		sureness
	};
}

/** Names of the figures that changed; null on either side stands for a log that could not be read. */
export function changedFigures(
	before: KeyFigures | null,
	after: KeyFigures | null
): (keyof KeyFigures)[] {
	if (before === null && after === null) return [];
	if (before === null || after === null) return ['verdict'];
	const numbers = Object.keys(LEAST) as (keyof typeof LEAST)[];
	const moved = numbers.filter((name) => {
		const [from, to] = [before[name], after[name]];
		if (from === null || to === null) return from !== to;
		return Math.abs(to - from) >= LEAST[name];
	});
	return before.verdict === after.verdict ? moved : ['verdict', ...moved];
}
