import { eq } from 'drizzle-orm';
import { LOT_KINDS, type LotKind } from '#lib/domain/lot/lot.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { lot, product } from '../db/schema.ts';
import { note, type Deed } from './act.ts';

export interface LotInput {
	readonly code: string;
	readonly name: string;
	readonly kind: LotKind;
	/** ISO 3166-1 alpha-2. */
	readonly country: string;
	readonly producer: string;
	readonly supplier: string;
	readonly variety: string;
	readonly cropYear: string;
	readonly bagG: number;
	readonly bagsExpected: number;
	readonly expectedOn: Day | null;
	readonly organic: boolean;
	readonly decaf: boolean;
	/** Code of the lot it replaces. */
	readonly replaces: string | null;
	/** Code of the product it is bought for. */
	readonly forProduct: string | null;
	readonly neededOn: Day | null;
	readonly note: string;
	readonly createdAt: InstantMs | null;
}

/** Opens the file of a lot. Refuses a code in use and references to unknown lots or products. */
export async function createLot(deed: Deed, input: LotInput): Promise<Outcome<{ lotId: number }>> {
	const problems: Problem[] = [];
	const lotIdOf = async (code: string) =>
		(await deed.tx.select({ id: lot.id }).from(lot).where(eq(lot.code, code)))[0]?.id;
	if (await lotIdOf(input.code))
		problems.push({
			path: 'code',
			message: `Lot ${input.code} exists already; a code is used once.`
		});
	if (!LOT_KINDS.includes(input.kind))
		problems.push({
			path: 'kind',
			message: `Found '${input.kind}', expected one of ${LOT_KINDS.join(', ')}.`
		});
	const replacesLotId = input.replaces ? await lotIdOf(input.replaces) : null;
	if (replacesLotId === undefined)
		problems.push({ path: 'replaces', message: `There is no lot ${input.replaces}.` });
	const products = input.forProduct
		? await deed.tx
				.select({ id: product.id })
				.from(product)
				.where(eq(product.code, input.forProduct))
		: [];
	if (input.forProduct && !products[0])
		problems.push({ path: 'for_product', message: `There is no product ${input.forProduct}.` });
	if (problems.length > 0) return bad(...problems);
	const { replaces, forProduct, ...facts } = input;
	const rows = await deed.tx
		.insert(lot)
		.values({
			...facts,
			replacesLotId: replacesLotId ?? null,
			forProductId: products[0]?.id ?? null,
			createdAt: input.createdAt ?? deed.now,
			createdBy: deed.by
		})
		.returning({ id: lot.id });
	const lotId = rows[0]!.id;
	await note(deed, 'create lot', lotId, { code: input.code, replaces, forProduct });
	return good({ lotId });
}
