import { type Currency, type Money, money } from '../quantity/money.ts';
import type { TestsChance } from '../trial/outlook.ts';
import type { RemainingTests } from '../trial/remaining.ts';

/**
 * What testing the lots now open will still cost.
 *
 * 1. A lot costs its remaining tests, each a draw from the net costs of tests like it. Their number and
 *    the draws are independent, and so are lots.
 * 2. The distribution is worked out exactly on a grid of money: a cost between two steps is shared between
 *    them so that its mean stays; sums are convolutions. Nothing is drawn by chance.
 * 3. Tests beyond those that the outlook tells (1 %) stand where they keep the mean of the outlook.
 * 4. The interval of 80 % has at most a tenth on either side.
 * 5. Tests like it: same kind on the same roaster, else same kind, else same roaster, else all; the first
 *    of these with `ENOUGH_TESTS`, and in the end whatever there is.
 *
 * That all lots share one unknown chance of release isn't in it, nor that prices move: over many lots the
 * interval is too narrow rather than too wide.
 */

/** Tests that a mean needs before it is preferred to a wider one; common practice, no source. */
export const ENOUGH_TESTS = 5;

/** Chances of amounts `(first + index) * stepMinor` minor units. */
export interface CostChances {
	readonly stepMinor: number;
	readonly first: number;
	readonly chances: Float64Array;
}

export interface CostAhead {
	readonly mean: Money;
	/** The interval from `low` to `high` holds at least 80 %. */
	readonly low: Money;
	readonly high: Money;
	readonly chances: CostChances;
}

/** What an outlook of a lot must tell. */
export type TestsAhead = Pick<RemainingTests, 'chances' | 'chanceBeyond' | 'mean'>;

/** A test that others are expected to be like. */
export interface PastTest {
	readonly kind: string;
	readonly roaster: string;
	readonly net: Money;
}

export interface SimilarTests<T extends PastTest = PastTest> {
	readonly tests: readonly T[];
	/** What they have in common; null is any. */
	readonly kind: string | null;
	readonly roaster: string | null;
}

/** Rule 5. Null where no test was ever costed. */
export function similarTests<T extends PastTest>(
	past: readonly T[],
	kind: string,
	roaster: string | null
): SimilarTests<T> | null {
	if (past.length === 0) return null;
	const wider = [
		...(roaster === null ? [] : [{ kind, roaster }]),
		{ kind, roaster: null },
		...(roaster === null ? [] : [{ kind: null, roaster }]),
		{ kind: null, roaster: null }
	].map((like) => ({
		...like,
		tests: past.filter(
			(test) =>
				(like.kind === null || test.kind === like.kind) &&
				(like.roaster === null || test.roaster === like.roaster)
		)
	}));
	return wider.find(({ tests }) => tests.length >= ENOUGH_TESTS) ?? wider.at(-1)!;
}

/** A step that parts the typical cost of a test in 20 to 50: 1, 2 or 5 times a power of ten. */
export function stepFor(costsMinor: readonly number[]): number {
	if (costsMinor.length === 0) return 1;
	const typical = costsMinor.reduce((all, cost) => all + Math.abs(cost), 0) / costsMinor.length;
	const power = 10 ** Math.max(0, Math.floor(Math.log10(Math.max(1, typical / 20))));
	const digit = [5, 2, 1].find((d) => d * power <= typical / 20) ?? 1;
	return digit * power;
}

/**
 * Cost of the tests that a lot still needs.
 * @param costsMinor net costs of tests like its own, at least one, equally likely
 * @throws RangeError when there is no cost
 */
export function costAhead(
	tests: TestsAhead,
	costsMinor: readonly number[],
	stepMinor: number,
	currency: Currency
): CostAhead {
	if (costsMinor.length === 0) throw new RangeError('a cost ahead needs the cost of a test');
	const each = onGrid(costsMinor, stepMinor);
	const meanEach = costsMinor.reduce((all, cost) => all + cost, 0) / costsMinor.length;
	const chances = compound(told(tests), each);
	return summary(chances, money(Math.round(tests.mean * meanEach), currency));
}

/** Cost of several lots together; nothing for none. Their steps must be the same. */
export function costTogether(
	lots: readonly CostAhead[],
	stepMinor: number,
	currency: Currency
): CostAhead {
	const none: CostChances = { stepMinor, first: 0, chances: Float64Array.of(1) };
	const chances = lots.reduce((all, lot) => trimmed(convolved(all, lot.chances)), none);
	const mean = lots.reduce((all, lot) => all + lot.mean.minor, 0);
	return summary(chances, money(mean, currency));
}

/** The chance that what is ahead costs no more than a budget. */
export function chanceWithinBudget({ chances: on }: CostAhead, budget: Money): number {
	let sum = 0;
	on.chances.forEach((chance, i) => {
		if ((on.first + i) * on.stepMinor <= budget.minor) sum += chance;
	});
	return Math.min(1, sum);
}

/** Chances by number of tests, from 0, that sum to 1 (rule 3). */
function told({ chances, chanceBeyond, mean }: TestsAhead): number[] {
	const most = chances.reduce((top, { tests }) => Math.max(top, tests), 0);
	const byTests: number[] = Array.from({ length: most + 1 }, () => 0);
	for (const { tests, chance } of chances) byTests[tests] = (byTests[tests] ?? 0) + chance;
	if (chanceBeyond < 1e-9) return byTests;
	const meanTold = chances.reduce((all: number, c: TestsChance) => all + c.tests * c.chance, 0);
	const beyond = Math.max(most + 1, (mean - meanTold) / chanceBeyond);
	const below = Math.floor(beyond);
	while (byTests.length <= below + 1) byTests.push(0);
	byTests[below]! += chanceBeyond * (1 - (beyond - below));
	byTests[below + 1]! += chanceBeyond * (beyond - below);
	return byTests;
}

/** Equally likely amounts, each shared between the two steps around it (rule 2). */
function onGrid(amountsMinor: readonly number[], stepMinor: number): CostChances {
	const places = amountsMinor.map((amount) => amount / stepMinor);
	const first = Math.floor(Math.min(...places));
	const chances = new Float64Array(Math.floor(Math.max(...places)) - first + 2);
	for (const place of places) {
		const below = Math.floor(place);
		chances[below - first]! += (1 - (place - below)) / places.length;
		chances[below - first + 1]! += (place - below) / places.length;
	}
	return { stepMinor, first, chances };
}

/** The sum of so many draws, by Horner's rule from the largest number down. */
function compound(byTests: readonly number[], each: CostChances): CostChances {
	const point = (chance: number): CostChances => ({
		stepMinor: each.stepMinor,
		first: 0,
		chances: Float64Array.of(chance)
	});
	return byTests.reduceRight((sum, chance) => added(convolved(sum, each), point(chance)), point(0));
}

function convolved(a: CostChances, b: CostChances): CostChances {
	if (a.stepMinor !== b.stepMinor) {
		throw new RangeError(`steps of ${a.stepMinor} and ${b.stepMinor} can't be put together`);
	}
	const chances = new Float64Array(a.chances.length + b.chances.length - 1);
	a.chances.forEach((left, i) => {
		if (left === 0) return;
		for (let j = 0; j < b.chances.length; j += 1) chances[i + j]! += left * b.chances[j]!;
	});
	return { stepMinor: a.stepMinor, first: a.first + b.first, chances };
}

function added(a: CostChances, b: CostChances): CostChances {
	const first = Math.min(a.first, b.first);
	const end = Math.max(a.first + a.chances.length, b.first + b.chances.length);
	const chances = new Float64Array(end - first);
	for (const each of [a, b]) {
		each.chances.forEach((chance, i) => (chances[each.first - first + i]! += chance));
	}
	return { stepMinor: a.stepMinor, first, chances };
}

const NEGLIGIBLE = 1e-10;

/** Without the far upper end, whose chance goes to the last step kept. */
function trimmed(of: CostChances): CostChances {
	let end = of.chances.length;
	let left = 0;
	while (end > 1 && left + of.chances[end - 1]! < NEGLIGIBLE) left += of.chances[--end]!;
	const chances = of.chances.slice(0, end);
	chances[end - 1]! += left;
	return { ...of, chances };
}

function summary(chances: CostChances, mean: Money): CostAhead {
	const at = (level: number) => money(quantileMinor(chances, level), mean.currency);
	return { mean, low: at(0.1), high: at(0.9), chances };
}

/** The least amount whose cumulative chance reaches `level`. */
function quantileMinor({ stepMinor, first, chances }: CostChances, level: number): number {
	let sum = 0;
	let index = 0;
	for (const chance of chances) {
		sum += chance;
		// A level that is met to within rounding is met.
		if (sum >= level - 1e-9) break;
		index += 1;
	}
	return (first + Math.min(index, chances.length - 1)) * stepMinor;
}
