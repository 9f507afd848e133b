import { eq } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { roaster, shift } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';
import { versionProblem, type SeenVersion } from './versions.ts';

export interface ShiftInput {
	/** ISO weekday, Monday is 1. */
	readonly weekday: number;
	/** Minutes after local midnight. */
	readonly startMin: number;
	readonly endMin: number;
}

/**
 * Replaces the week of shifts of one roaster. The path of a problem counts shifts from 1.
 * @param seen of its shifts, which have a version apart from the machine's
 */
export async function saveShifts(
	deed: Deed,
	roasterId: number,
	shifts: readonly ShiftInput[],
	seen: SeenVersion = null
): Promise<Outcome<{ count: number }>> {
	const problems = shifts.flatMap((_, i) => shiftProblems(shifts, i));
	const isRoaster = eq(roaster.id, roasterId);
	const known = await deed.tx.select().from(roaster).where(isRoaster);
	const version = known[0]?.shiftsVersion ?? 0;
	const conflict = await versionProblem(deed, 'The week of shifts', seen, version, {
		acts: ['save shifts'],
		detail: { roasterId }
	});
	if (conflict) problems.push(conflict);
	if (problems.length > 0) return bad(...problems);
	const stored = await deed.tx.select().from(shift).where(eq(shift.roasterId, roasterId));
	const before = { shifts: inWords(stored) };
	await deed.tx.delete(shift).where(eq(shift.roasterId, roasterId));
	if (shifts.length > 0)
		await deed.tx.insert(shift).values(shifts.map((s) => ({ ...s, roasterId })));
	await deed.tx
		.update(roaster)
		.set({ shiftsVersion: version + 1 })
		.where(isRoaster);
	const after = { shifts: inWords(shifts) };
	const code = known[0]?.code;
	await note(deed, 'save shifts', null, { roasterId, code, ...changes(before, after) });
	return good({ count: shifts.length });
}

/** `Mon 06:00-14:00, …`, by weekday and start. */
function inWords(shifts: readonly ShiftInput[]): string {
	const clock = (min: number) =>
		`${String(Math.floor(min / 60)).padStart(2, '0')}:${String(min % 60).padStart(2, '0')}`;
	return shifts
		.toSorted((a, b) => a.weekday - b.weekday || a.startMin - b.startMin)
		.map((s) => `${WEEKDAY_NAMES[s.weekday - 1]} ${clock(s.startMin)}-${clock(s.endMin)}`)
		.join(', ');
}

const WEEKDAY_NAMES = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'];

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
