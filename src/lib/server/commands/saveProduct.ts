import { eq } from 'drizzle-orm';
import { ROAST_SHADES } from '#lib/domain/plan/problem.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { product } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';
import { versionProblem, type SeenVersion } from './versions.ts';

export type ProductInput = Omit<typeof product.$inferInsert, 'id' | 'version' | 'verdictRuleSetAt'>;

/**
 * Adds a product, or changes the one of that code. A verdict rule that is new or other than before holds
 * from now on; without one in the input the stored rule stays.
 */
export async function saveProduct(
	deed: Deed,
	input: ProductInput,
	seen: SeenVersion = null
): Promise<Outcome<{ productId: number }>> {
	if (!ROAST_SHADES.some((shade) => shade === input.shade))
		return bad({
			path: 'shade',
			message: `Found '${input.shade}', expected one of ${ROAST_SHADES.join(', ')}.`
		});
	const existing = (await deed.tx.select().from(product).where(eq(product.code, input.code)))[0];
	const conflict = await versionProblem(
		deed,
		`Product ${input.code}`,
		seen,
		existing?.version ?? 0,
		{
			acts: ['save product'],
			detail: { code: input.code }
		}
	);
	if (conflict) return bad(conflict);
	const rule =
		input.verdictRule === undefined ? (existing?.verdictRule ?? null) : input.verdictRule;
	const isSameRule = JSON.stringify(rule) === JSON.stringify(existing?.verdictRule ?? null);
	const values = {
		...input,
		verdictRule: rule,
		verdictRuleSetAt: isSameRule ? (existing?.verdictRuleSetAt ?? null) : deed.now,
		version: (existing?.version ?? 0) + 1
	};
	const rows = await deed.tx
		.insert(product)
		.values(values)
		.onConflictDoUpdate({ target: product.code, set: values })
		.returning({ id: product.id });
	await note(deed, 'save product', null, { code: input.code, ...changes(existing, input) });
	return good({ productId: rows[0]!.id });
}
