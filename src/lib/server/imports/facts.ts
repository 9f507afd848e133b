/** What the values of one column look like: all that guessing its use goes by, beside its heading. */
import { isMissing, isStamp, parseClock, parseNumber, type NumberStyle } from './number.ts';
import { withoutUnit } from './dialect.ts';
import { markOf, readHeading, unitOf, type AnyUnit } from './words.ts';

export interface ColumnFacts {
	readonly index: number;
	readonly heading: string;
	/** Plain words of the heading, unit taken off. */
	readonly words: string;
	/** From the heading, the units row, or behind the numbers themselves. */
	readonly unit: AnyUnit | null;
	readonly filled: number;
	/** Shares of the filled cells, 0 to 1. */
	readonly numberShare: number;
	readonly clockShare: number;
	readonly stampShare: number;
	readonly markShare: number;
	/** NaN without numbers. */
	readonly min: number;
	readonly max: number;
	readonly first: number;
	readonly last: number;
	/** Share of steps between neighbouring numbers that rise. */
	readonly risingShare: number;
	readonly wholeNumbers: boolean;
	/** How many different numbers, counted up to 50. */
	readonly distinct: number;
}

/** Facts of one column. `cells` are its data cells from top to bottom. */
export function columnFacts(
	index: number,
	heading: string,
	unitCell: string,
	cells: readonly string[],
	style: NumberStyle
): ColumnFacts {
	const filled = cells.filter((cell) => !isMissing(cell));
	const read = filled.map((cell) => parseNumber(withoutUnit(cell), style));
	const numbers = read.filter((value) => value !== null);
	const others = filled.filter((_, i) => read[i] === null);
	const share = (count: number) => (filled.length === 0 ? 0 : count / filled.length);
	const shareOfOthers = (test: (cell: string) => boolean) => share(others.filter(test).length);
	const { words, unit } = readHeading(heading);
	return {
		index,
		heading,
		words,
		unit: unit ?? unitOf(unitCell) ?? cellUnit(filled),
		filled: filled.length,
		numberShare: share(numbers.length),
		clockShare: shareOfOthers((cell) => parseClock(cell) !== null),
		stampShare: shareOfOthers(isStamp),
		markShare: shareOfOthers((cell) => markOf(cell) !== null),
		...numberFacts(numbers)
	};
}

function cellUnit(filled: readonly string[]): AnyUnit | null {
	const cell = filled[0]?.trim();
	if (cell === undefined) return null;
	const bare = withoutUnit(cell);
	return bare === cell ? null : unitOf(cell.slice(bare.length));
}

function numberFacts(numbers: readonly number[]) {
	let min = Infinity;
	let max = -Infinity;
	let rising = 0;
	const seen = new Set<number>();
	for (const [i, value] of numbers.entries()) {
		min = Math.min(min, value);
		max = Math.max(max, value);
		if (i > 0 && value > numbers[i - 1]!) rising++;
		if (seen.size < 50) seen.add(value);
	}
	const none = numbers.length === 0;
	return {
		min: none ? NaN : min,
		max: none ? NaN : max,
		first: numbers[0] ?? NaN,
		last: numbers[numbers.length - 1] ?? NaN,
		risingShare: numbers.length < 2 ? 0 : rising / (numbers.length - 1),
		wholeNumbers: !none && numbers.every(Number.isInteger),
		distinct: seen.size
	};
}
