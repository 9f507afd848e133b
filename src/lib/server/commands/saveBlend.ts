import { and, asc, eq, inArray, max, type SQL } from 'drizzle-orm';
import { leewayProblems, type BlendPart } from '#lib/domain/demand/products.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { blendPart, lot } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';
import { versionProblem, type SeenVersion } from './versions.ts';

export interface BlendInput {
	readonly productId: number;
	readonly fromDay: Day;
	readonly parts: readonly BlendPart[];
}

/**
 * Says what a product is made of from a day on; each lot once, and shares must come to 100 %. A part may
 * have a range about its share and lots that may stand in.
 * @param seen number of the newest part of the product that was looked at; 0 where it had none
 */
export async function saveBlend(
	deed: Deed,
	input: BlendInput,
	seen: SeenVersion = null
): Promise<Outcome<{ parts: number }>> {
	const problems: Problem[] = [];
	const conflict = await changedBlend(deed, input.productId, seen);
	if (conflict) problems.push(conflict);
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
	problems.push(...input.parts.flatMap(leewayProblems));
	if (problems.length > 0) return bad(...problems);
	const isBlock = and(
		eq(blendPart.productId, input.productId),
		eq(blendPart.fromDay, input.fromDay)
	);
	const parts = await partsInWords(deed, isBlock);
	await deed.tx.delete(blendPart).where(isBlock);
	await deed.tx
		.insert(blendPart)
		.values(input.parts.map((p) => ({ ...p, productId: input.productId, fromDay: input.fromDay })));
	const { productId, fromDay } = input;
	const after = { parts: await partsInWords(deed, isBlock) };
	const before = parts === '' ? null : { parts };
	await note(deed, 'save blend', null, { productId, fromDay, ...changes(before, after) });
	return good({ parts: input.parts.length });
}

async function changedBlend(
	deed: Deed,
	productId: number,
	seen: SeenVersion
): Promise<Problem | null> {
	const [row] = await deed.tx
		.select({ newest: max(blendPart.id) })
		.from(blendPart)
		.where(eq(blendPart.productId, productId));
	const newest = row?.newest ?? 0;
	// The first blend, entered by another meanwhile, is a change too.
	const shown = seen === 0 && newest > 0 ? -1 : seen;
	const trace = { acts: ['save blend'] as const, detail: { productId } };
	return versionProblem(deed, 'What it is made of', shown, newest, trace);
}

/** `HR-151 60 % (50 to 70 %, or HR-149), HR-152 40 %`, by the lots' codes; empty where there are none. */
async function partsInWords({ tx }: Deed, isBlock: SQL | undefined): Promise<string> {
	const rows = await tx
		.select({ code: lot.code, part: blendPart })
		.from(blendPart)
		.innerJoin(lot, eq(lot.id, blendPart.lotId))
		.where(isBlock)
		.orderBy(asc(lot.code));
	const ids = rows.flatMap(({ part }) => part.substituteLotIds);
	const others =
		ids.length === 0
			? []
			: await tx.select({ id: lot.id, code: lot.code }).from(lot).where(inArray(lot.id, ids));
	const codeOf = new Map(others.map(({ id, code }) => [id, code]));
	return rows
		.map(({ code, part }) => `${code} ${part.sharePermille / 10} %${leewayInWords(part, codeOf)}`)
		.join(', ');
}

function leewayInWords(part: BlendPart, codeOf: ReadonlyMap<number, string>): string {
	const { sharePermille, leastPermille, mostPermille, substituteLotIds = [] } = part;
	const [least, most] = [leastPermille ?? sharePermille, mostPermille ?? sharePermille];
	const range = least < most ? [`${least / 10} to ${most / 10} %`] : [];
	const words = [...range, ...substituteLotIds.map((id) => `or ${codeOf.get(id) ?? id}`)];
	return words.length === 0 ? '' : ` (${words.join(', ')})`;
}
