import { eq } from 'drizzle-orm';
import { isPeriod } from '#lib/domain/cost/budget.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { testBudget } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';
import { versionProblem, type SeenVersion } from './versions.ts';

export interface TestBudgetInput {
	/** A month `2026-11` or a year `2026`. */
	readonly period: string;
	/** In the site's currency. */
	readonly amountMinor: number;
}

/** Sets what testing may cost net in a month or a year; the same period again replaces it. */
export async function saveTestBudget(
	deed: Deed,
	{ period, amountMinor }: TestBudgetInput,
	seen: SeenVersion = null
): Promise<Outcome<{ period: string }>> {
	const problems: Problem[] = [];
	if (!isPeriod(period))
		problems.push({
			path: 'period',
			message: `Found '${period}', expected a month such as 2026-11 or a year such as 2026.`
		});
	if (!Number.isSafeInteger(amountMinor) || amountMinor < 0)
		problems.push({ path: 'amount', message: 'Expected an amount of at least 0.' });
	const same = eq(testBudget.period, period);
	const existing = (await deed.tx.select().from(testBudget).where(same))[0];
	const conflict = await versionProblem(
		deed,
		`The budget of ${period}`,
		seen,
		existing?.version ?? 0,
		{
			acts: ['save testing budget'],
			detail: { period }
		}
	);
	if (conflict)
		problems.push(conflict.path === 'code' ? { ...conflict, path: 'period' } : conflict);
	if (problems.length > 0) return bad(...problems);
	const version = (existing?.version ?? 0) + 1;
	const values = { period, amountMinor, recordedAt: deed.now, by: deed.by, version };
	await deed.tx
		.insert(testBudget)
		.values(values)
		.onConflictDoUpdate({ target: testBudget.period, set: values });
	await note(deed, 'save testing budget', null, { period, ...changes(existing, { amountMinor }) });
	return good({ period });
}
