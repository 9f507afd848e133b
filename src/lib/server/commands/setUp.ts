import { and, eq } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, IsoWeek } from '#lib/domain/quantity/time.ts';
import { blendPart, costRate, demand, lot, product, roaster, shift, site } from '../db/schema.ts';
import { loadSite } from '../store/site.ts';
import { note, type Deed } from './act.ts';

/** What the roastery is and has: the records that everything else refers to. */

export type SiteInput = Omit<typeof site.$inferInsert, 'id' | 'version'>;

/** Sets the site up, or changes it when the caller saw its newest version. */
export async function saveSite(
	deed: Deed,
	input: SiteInput,
	seenVersion: number | null = null
): Promise<Outcome<{ version: number }>> {
	const problems = siteProblems(input);
	if (problems.length > 0) return bad(...problems);
	const existing = await loadSite(deed.tx);
	if (existing && seenVersion !== null && existing.version !== seenVersion)
		return bad(changedMeanwhile('The site'));
	const version = (existing?.version ?? 0) + 1;
	await deed.tx
		.insert(site)
		.values({ id: 1, ...input, version })
		.onConflictDoUpdate({ target: site.id, set: { ...input, version } });
	await note(deed, 'save site', null, { ...input });
	return good({ version });
}

function siteProblems(input: SiteInput): Problem[] {
	const problems: Problem[] = [];
	if (input.name.trim() === '')
		problems.push({ path: 'name', message: 'Give the roastery a name.' });
	if (!isTimeZone(input.timeZone))
		problems.push({
			path: 'time_zone',
			message: `Found '${input.timeZone}', expected a time zone such as Europe/London.`
		});
	if (!/^[A-Z]{3}$/.test(input.currency))
		problems.push({
			path: 'currency',
			message: `Found '${input.currency}', expected an ISO 4217 code such as GBP.`
		});
	return problems;
}

function isTimeZone(name: string): boolean {
	try {
		return Boolean(new Intl.DateTimeFormat('en-GB', { timeZone: name }));
	} catch {
		return false;
	}
}

/** Tells the second of two writers. */
export function changedMeanwhile(what: string): Problem {
	return {
		path: 'version',
		message: `${what} was changed by someone else while you were editing. Your input is kept below; look at the newest state and save again.`
	};
}

export type RoasterInput = Omit<typeof roaster.$inferInsert, 'id' | 'version'>;

/** Adds a roaster, or changes the one of that code. */
export async function saveRoaster(
	deed: Deed,
	input: RoasterInput
): Promise<Outcome<{ roasterId: number }>> {
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
	if (problems.length > 0) return bad(...problems);
	const rows = await deed.tx
		.insert(roaster)
		.values(input)
		.onConflictDoUpdate({ target: roaster.code, set: input })
		.returning({ id: roaster.id });
	await note(deed, 'save roaster', null, { ...input });
	return good({ roasterId: rows[0]!.id });
}

export interface ShiftInput {
	readonly weekday: number;
	readonly startMin: number;
	readonly endMin: number;
}

/** Replaces the week of shifts of one roaster. */
export async function saveShifts(
	deed: Deed,
	roasterId: number,
	shifts: readonly ShiftInput[]
): Promise<Outcome<{ count: number }>> {
	const problems = shifts.flatMap((s, i): Problem[] => {
		if (s.weekday < 1 || s.weekday > 7)
			return [{ path: `shift ${i + 1}, weekday`, message: `Found ${s.weekday}, expected 1 to 7.` }];
		if (s.endMin <= s.startMin || s.startMin < 0 || s.endMin > 24 * 60)
			return [
				{ path: `shift ${i + 1}, end`, message: 'Expected an end after the start, within one day.' }
			];
		const clash = shifts.findIndex(
			(o, j) => j < i && o.weekday === s.weekday && o.startMin < s.endMin && s.startMin < o.endMin
		);
		return clash >= 0
			? [{ path: `shift ${i + 1}, start`, message: `It overlaps shift ${clash + 1}.` }]
			: [];
	});
	if (problems.length > 0) return bad(...problems);
	await deed.tx.delete(shift).where(eq(shift.roasterId, roasterId));
	if (shifts.length > 0)
		await deed.tx.insert(shift).values(shifts.map((s) => ({ ...s, roasterId })));
	await note(deed, 'save shifts', null, { roasterId, shifts });
	return good({ count: shifts.length });
}

export type CostRateInput = Omit<typeof costRate.$inferInsert, 'id'>;

/** Sets what a roaster costs from a day on; the same day again replaces it. */
export async function saveCostRate(
	deed: Deed,
	input: CostRateInput
): Promise<Outcome<{ fromDay: Day }>> {
	await deed.tx
		.insert(costRate)
		.values(input)
		.onConflictDoUpdate({ target: [costRate.roasterId, costRate.fromDay], set: input });
	await note(deed, 'save cost rate', null, { ...input });
	return good({ fromDay: input.fromDay });
}

export type ProductInput = Omit<typeof product.$inferInsert, 'id' | 'version'>;

/** Adds a product, or changes the one of that code. */
export async function saveProduct(
	deed: Deed,
	input: ProductInput
): Promise<Outcome<{ productId: number }>> {
	if (!['light', 'medium', 'dark'].includes(input.shade))
		return bad({
			path: 'shade',
			message: `Found '${input.shade}', expected light, medium or dark.`
		});
	const rows = await deed.tx
		.insert(product)
		.values(input)
		.onConflictDoUpdate({ target: product.code, set: input })
		.returning({ id: product.id });
	await note(deed, 'save product', null, { ...input });
	return good({ productId: rows[0]!.id });
}

export interface BlendInput {
	readonly productId: number;
	readonly fromDay: Day;
	readonly parts: readonly { readonly lotId: number; readonly sharePermille: number }[];
}

/** Says what a product is made of from a day on; shares must come to 100 %. */
export async function saveBlend(
	deed: Deed,
	input: BlendInput
): Promise<Outcome<{ parts: number }>> {
	const total = input.parts.reduce((sum, p) => sum + p.sharePermille, 0);
	if (total !== 1000)
		return bad({
			path: 'share_pct',
			message: `The shares from ${input.fromDay} come to ${total / 10} %, expected 100 %.`
		});
	await deed.tx
		.delete(blendPart)
		.where(and(eq(blendPart.productId, input.productId), eq(blendPart.fromDay, input.fromDay)));
	await deed.tx
		.insert(blendPart)
		.values(input.parts.map((p) => ({ ...p, productId: input.productId, fromDay: input.fromDay })));
	await note(deed, 'save blend', null, { ...input });
	return good({ parts: input.parts.length });
}

export interface DemandInput {
	readonly productId: number;
	readonly week: IsoWeek;
	readonly roastedG: number;
}

/** Sets what is ordered of a product in a week; the newest entry counts. */
export async function saveDemand(deed: Deed, input: DemandInput): Promise<Outcome<DemandInput>> {
	if (!(input.roastedG >= 0)) return bad({ path: 'roasted_kg', message: 'Expected zero or more.' });
	await deed.tx
		.insert(demand)
		.values({ ...input, recordedAt: deed.now, by: deed.by })
		.onConflictDoUpdate({
			target: [demand.productId, demand.week],
			set: { roastedG: input.roastedG, recordedAt: deed.now, by: deed.by }
		});
	await note(deed, 'save demand', null, { ...input });
	return good(input);
}

/** The id of a lot by code. */
export async function lotIdOf(deed: Deed, code: string): Promise<Outcome<number>> {
	const rows = await deed.tx.select({ id: lot.id }).from(lot).where(eq(lot.code, code));
	return rows[0] ? good(rows[0].id) : bad({ path: 'lot', message: `There is no lot ${code}.` });
}
