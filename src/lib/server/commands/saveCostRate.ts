import { and, eq } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { costRate } from '../db/schema.ts';
import { requireSite } from '../store/site.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';
import { versionProblem, type SeenVersion } from './versions.ts';

export type CostRateInput = Omit<typeof costRate.$inferInsert, 'id' | 'version'>;

/**
 * Sets what a roaster costs from a day on; the same day again replaces it. Rates are in the site's
 * currency, since every cost is summed in it.
 * @param seen of the rates of that day
 */
export async function saveCostRate(
	deed: Deed,
	input: CostRateInput,
	seen: SeenVersion = null
): Promise<Outcome<{ fromDay: Day }>> {
	const { currency } = await requireSite(deed.tx);
	const problems: Problem[] = [];
	if (input.currency !== currency)
		problems.push({
			path: 'currency',
			message: `Found ${input.currency}, expected ${currency}, the currency of the site.`
		});
	if ((input.machineResidualMinor ?? 0) > (input.machineCostMinor ?? 0))
		problems.push({
			path: 'machine_residual',
			message: 'Found more than the machine cost, expected what it will still be worth.'
		});
	const existing = await versionOf(deed, input);
	const conflict = await versionProblem(deed, `The rates from ${input.fromDay}`, seen, existing, {
		acts: ['save cost rate'],
		detail: { roasterId: input.roasterId, fromDay: input.fromDay }
	});
	if (conflict) problems.push(conflict.path === 'code' ? { ...conflict, path: 'from' } : conflict);
	if (problems.length > 0) return bad(...problems);
	const [stored] = await deed.tx
		.select()
		.from(costRate)
		.where(and(eq(costRate.roasterId, input.roasterId), eq(costRate.fromDay, input.fromDay)));
	const values = { ...input, version: existing + 1 };
	await deed.tx
		.insert(costRate)
		.values(values)
		.onConflictDoUpdate({ target: [costRate.roasterId, costRate.fromDay], set: values });
	const { roasterId, fromDay } = input;
	await note(deed, 'save cost rate', null, { roasterId, fromDay, ...changes(stored, input) });
	return good({ fromDay: input.fromDay });
}

/** Of the rates kept for that roaster and day; 0 without. */
async function versionOf({ tx }: Deed, { roasterId, fromDay }: CostRateInput): Promise<number> {
	const same = and(eq(costRate.roasterId, roasterId), eq(costRate.fromDay, fromDay));
	const rows = await tx.select({ version: costRate.version }).from(costRate).where(same);
	return rows[0]?.version ?? 0;
}
