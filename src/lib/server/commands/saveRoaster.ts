import { eq } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { roaster } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';
import { versionProblem, type SeenVersion } from './versions.ts';

export type RoasterInput = Omit<typeof roaster.$inferInsert, 'id' | 'version'>;

/** Adds a roaster, or changes the one of that code. */
export async function saveRoaster(
	deed: Deed,
	input: RoasterInput,
	seen: SeenVersion = null
): Promise<Outcome<{ roasterId: number }>> {
	const problems = roasterProblems(input);
	const existing = (await deed.tx.select().from(roaster).where(eq(roaster.code, input.code)))[0];
	const conflict = await versionProblem(
		deed,
		`Roaster ${input.code}`,
		seen,
		existing?.version ?? 0,
		{
			acts: ['save roaster'],
			detail: { code: input.code }
		}
	);
	if (conflict) problems.push(conflict);
	if (problems.length > 0) return bad(...problems);
	const values = { ...input, version: (existing?.version ?? 0) + 1 };
	const rows = await deed.tx
		.insert(roaster)
		.values(values)
		.onConflictDoUpdate({ target: roaster.code, set: values })
		.returning({ id: roaster.id });
	await note(deed, 'save roaster', null, { code: input.code, ...changes(existing, input) });
	return good({ roasterId: rows[0]!.id });
}

function roasterProblems(input: RoasterInput): Problem[] {
	const problems: Problem[] = [];
	if (!(input.minChargeG > 0) || input.maxChargeG < input.minChargeG)
		problems.push({
			path: 'max_charge_kg',
			message: `Found ${input.minChargeG / 1000} to ${input.maxChargeG / 1000} kg, expected a smallest charge above zero and a largest not below it.`
		});
	if (input.cycleMin < input.roastMin || input.roastMin <= 0)
		problems.push({
			path: 'cycle_min',
			message: `Found ${input.cycleMin} min with ${input.roastMin} min of roasting, expected a cycle no shorter than the roast.`
		});
	return problems;
}
