import { eq } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { shift } from '../db/schema.ts';
import { note, type Deed } from './act.ts';

export interface ShiftInput {
	/** ISO weekday, Monday is 1. */
	readonly weekday: number;
	/** Minutes after local midnight. */
	readonly startMin: number;
	readonly endMin: number;
}

/** Replaces the week of shifts of one roaster. The path of a problem counts shifts from 1. */
export async function saveShifts(
	deed: Deed,
	roasterId: number,
	shifts: readonly ShiftInput[]
): Promise<Outcome<{ count: number }>> {
	const problems = shifts.flatMap((_, i) => shiftProblems(shifts, i));
	if (problems.length > 0) return bad(...problems);
	await deed.tx.delete(shift).where(eq(shift.roasterId, roasterId));
	if (shifts.length > 0)
		await deed.tx.insert(shift).values(shifts.map((s) => ({ ...s, roasterId })));
	await note(deed, 'save shifts', null, { roasterId, shifts });
	return good({ count: shifts.length });
}

function shiftProblems(shifts: readonly ShiftInput[], i: number): Problem[] {
	const s = shifts[i]!;
	if (s.weekday < 1 || s.weekday > 7)
		return [{ path: `shift ${i + 1}, weekday`, message: `Found ${s.weekday}, expected 1 to 7.` }];
	if (s.endMin <= s.startMin || s.startMin < 0 || s.endMin > 24 * 60)
		return [
			{ path: `shift ${i + 1}, end`, message: 'Expected an end after the start, within one day.' }
		];
	const clash = shifts
		.slice(0, i)
		.some((o) => o.weekday === s.weekday && o.startMin < s.endMin && s.startMin < o.endMin);
	return clash
		? [{ path: `shift ${i + 1}, start`, message: 'It overlaps another shift of that day.' }]
		: [];
}
