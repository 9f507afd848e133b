import { eq } from 'drizzle-orm';
import type { VerdictRule } from '#lib/domain/trial/verdictRule.ts';
import type { Reader } from '../db/client.ts';
import { lot, product } from '../db/schema.ts';

/** The verdict rule of the product that a lot was bought for. */
export interface HeldRule {
	readonly product: string;
	readonly productName: string;
	readonly rule: VerdictRule;
	/** When it was last changed: it holds for verdicts from then on. */
	readonly setAt: number;
}

/** The rule for a lot's tests, or null where its product has none or no product is named. */
export async function findRuleOf(db: Reader, lotId: number): Promise<HeldRule | null> {
	const rows = await db
		.select({ product })
		.from(lot)
		.innerJoin(product, eq(product.id, lot.forProductId))
		.where(eq(lot.id, lotId));
	const found = rows[0]?.product;
	if (!found?.verdictRule) return null;
	const { code, name, verdictRule, verdictRuleSetAt } = found;
	return { product: code, productName: name, rule: verdictRule, setAt: verdictRuleSetAt ?? 0 };
}
