import { formatKg } from '../quantity/mass.ts';
import { bad, good, type Outcome, type Problem } from '../quantity/problem.ts';
import type { InstantMs } from '../quantity/time.ts';
import { MOVEMENT_KINDS, type Movement, type MovementKind } from './movement.ts';

/**
 * The stock ledger of one lot.
 *
 * 1. On hand is the sum of the signed movements.
 * 2. Every gram is explained: received = sampled + tested + produced + sold green + written off +
 *    on hand - count differences.
 * 3. Receipts come in, counts go either way, everything else goes out.
 * 4. A movement has a reason and a name, is in whole grams and is never zero.
 * 5. No movement takes a lot below zero at any moment: one that is dated back leaves enough for all that
 *    was taken since.
 */

/** What became of a lot, in integer grams; what left is positive, a count difference keeps its sign. */
export interface LotBalance {
	readonly receivedG: number;
	readonly sampledG: number;
	readonly testedG: number;
	readonly producedG: number;
	readonly soldGreenG: number;
	readonly writtenOffG: number;
	readonly countDifferenceG: number;
	readonly onHandG: number;
}

/** A movement with the stock it left. */
export interface RunningRow<M extends Movement = Movement> {
	readonly movement: M;
	readonly onHandG: number;
}

export interface RunningBalance<M extends Movement = Movement> {
	/** Oldest first; movements of the same instant keep the order they were written in. */
	readonly rows: readonly RunningRow<M>[];
	readonly onHandG: number;
	/** When the ledger last brought the lot to zero; null while there is stock or none came. */
	readonly emptiedAt: InstantMs | null;
	/** The least stock the lot ever had. Below zero when a movement was dated before its receipt. */
	readonly lowestG: number;
}

/** Green on hand in grams: the sum of the movements (rule 1). */
export function onHandG(movements: readonly Pick<Movement, 'massG'>[]): number {
	return movements.reduce((sum, movement) => sum + movement.massG, 0);
}

/** Where every gram of one lot went (rule 2). Movements of several lots, or sums of them, give their sum. */
export function lotBalance(movements: readonly Pick<Movement, 'kind' | 'massG'>[]): LotBalance {
	const of = (kind: MovementKind) =>
		onHandG(movements.filter((movement) => movement.kind === kind));
	const left = (kind: MovementKind) => 0 - of(kind);
	return {
		receivedG: of('received'),
		sampledG: left('sampled'),
		testedG: left('tested'),
		producedG: left('produced'),
		soldGreenG: left('sold green'),
		writtenOffG: left('written off'),
		countDifferenceG: of('count difference'),
		onHandG: onHandG(movements)
	};
}

/** Grams that the balance doesn't explain; always zero unless a kind was added without its column. */
export function unexplainedG(balance: LotBalance): number {
	const { sampledG, testedG, producedG, soldGreenG, writtenOffG } = balance;
	const out = sampledG + testedG + producedG + soldGreenG + writtenOffG;
	return balance.receivedG + balance.countDifferenceG - out - balance.onHandG;
}

/** The stock after each movement, in the order of time. */
export function runningBalance<M extends Movement>(movements: readonly M[]): RunningBalance<M> {
	const rows: RunningRow<M>[] = [];
	let stockG = 0;
	let lowestG = 0;
	let emptiedAt: InstantMs | null = null;
	for (const movement of [...movements].sort((a, b) => a.at - b.at)) {
		if (stockG !== 0 && stockG + movement.massG === 0) emptiedAt = movement.at;
		stockG += movement.massG;
		lowestG = Math.min(lowestG, stockG);
		rows.push({ movement, onHandG: stockG });
	}
	return { rows, onHandG: stockG, emptiedAt: stockG === 0 ? emptiedAt : null, lowestG };
}

/**
 * The least a lot had on hand from an instant on, in grams: as much can still leave it then (rule 5).
 * Movements of that very instant count as done.
 */
export function lowestFromG(movements: readonly Movement[], at: InstantMs): number {
	const { rows } = runningBalance(movements);
	const before = rows.findLast(({ movement }) => movement.at <= at)?.onHandG ?? 0;
	return rows.reduce(
		(least, { movement, onHandG }) => (movement.at > at ? Math.min(least, onHandG) : least),
		before
	);
}

/**
 * Checks a movement before it is written (rules 3, 4, 5). Every fault is told at once.
 * @param stockG grams that can leave the lot at that moment: `lowestFromG`
 * @returns the movement with reason and name trimmed
 */
export function checkMovement<M extends Movement>(stockG: number, movement: M): Outcome<M> {
	const problems = [...massProblems(stockG, movement), ...wordProblems(movement)];
	if (problems.length > 0) return bad(...problems);
	return good({ ...movement, reason: movement.reason.trim(), by: movement.by.trim() });
}

function massProblems(stockG: number, { kind, massG }: Movement): Problem[] {
	const path = 'massG';
	if (!MOVEMENT_KINDS.includes(kind)) {
		const message = `found "${kind}", expected one of ${MOVEMENT_KINDS.join(', ')}`;
		return [{ path: 'kind', message }];
	}
	if (!Number.isSafeInteger(massG)) {
		return [{ path, message: `found ${massG}, expected a whole number of grams` }];
	}
	if (massG === 0) return [{ path, message: `found 0 g, expected a mass that was ${kind}` }];
	if (kind === 'received' && massG < 0) {
		return [{ path, message: `found ${massG} g received, expected a mass above zero` }];
	}
	if (kind !== 'received' && kind !== 'count difference' && massG > 0) {
		return [
			{ path, message: `found +${massG} g ${kind}, expected it to leave stock (below zero)` }
		];
	}
	if (stockG + massG < 0) {
		const message = `${formatKg(-massG)} is more than the ${formatKg(stockG)} on hand, then or since`;
		return [{ path, message }];
	}
	return [];
}

function wordProblems({ at, reason, by }: Movement): Problem[] {
	const problems: Problem[] = [];
	if (!Number.isSafeInteger(at)) {
		problems.push({ path: 'at', message: `found ${at}, expected an instant in milliseconds` });
	}
	if (reason.trim() === '') {
		problems.push({ path: 'reason', message: 'found nothing, expected why the coffee moved' });
	}
	if (by.trim() === '') {
		problems.push({ path: 'by', message: 'found nothing, expected who moved the coffee' });
	}
	return problems;
}
