import { and, eq } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { blendPart } from '../db/schema.ts';
import { note, type Deed } from './act.ts';

export interface BlendInput {
	readonly productId: number;
	readonly fromDay: Day;
	readonly parts: readonly { readonly lotId: number; readonly sharePermille: number }[];
}

/** Says what a product is made of from a day on; each lot once, and shares must come to 100 %. */
export async function saveBlend(
	deed: Deed,
	input: BlendInput
): Promise<Outcome<{ parts: number }>> {
	const problems: Problem[] = [];
	const total = input.parts.reduce((sum, p) => sum + p.sharePermille, 0);
	if (total !== 1000)
		problems.push({
			path: 'share_pct',
			message: `The shares from ${input.fromDay} come to ${total / 10} %, expected 100 %.`
		});
	if (input.parts.some((p) => !(p.sharePermille > 0)))
		problems.push({ path: 'share_pct', message: 'Expected each share above zero.' });
	if (new Set(input.parts.map((p) => p.lotId)).size < input.parts.length)
		problems.push({ path: 'lot', message: 'Found a lot twice, expected each lot once.' });
	if (problems.length > 0) return bad(...problems);
	await deed.tx
		.delete(blendPart)
		.where(and(eq(blendPart.productId, input.productId), eq(blendPart.fromDay, input.fromDay)));
	await deed.tx
		.insert(blendPart)
		.values(input.parts.map((p) => ({ ...p, productId: input.productId, fromDay: input.fromDay })));
	await note(deed, 'save blend', null, { ...input });
	return good({ parts: input.parts.length });
}
