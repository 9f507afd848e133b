import { asc } from 'drizzle-orm';
import type { Reader } from '../db/client.ts';
import { costRate, roaster, shift, site, supplierLead } from '../db/schema.ts';

export type Site = typeof site.$inferSelect;
export type Roaster = typeof roaster.$inferSelect;
export type Shift = typeof shift.$inferSelect;
export type CostRate = typeof costRate.$inferSelect;

/** The site, or null before first set-up. */
export async function loadSite(db: Reader): Promise<Site | null> {
	return (await db.select().from(site).limit(1))[0] ?? null;
}

/** The site; throws before first set-up, since nothing else can be recorded until then. */
export async function requireSite(db: Reader): Promise<Site> {
	const found = await loadSite(db);
	if (!found) throw new Error('The site is not set up.');
	return found;
}

/** Every roaster, smallest first. */
export async function loadRoasters(db: Reader): Promise<Roaster[]> {
	return db.select().from(roaster).orderBy(asc(roaster.maxChargeG), asc(roaster.code));
}

/** Every shift by roaster, weekday and start. */
export async function loadShifts(db: Reader): Promise<Shift[]> {
	return db
		.select()
		.from(shift)
		.orderBy(asc(shift.roasterId), asc(shift.weekday), asc(shift.startMin));
}

/** Every cost rate, oldest first. */
export async function loadCostRates(db: Reader): Promise<CostRate[]> {
	return db.select().from(costRate).orderBy(asc(costRate.fromDay));
}

/** Suppliers with a lead time of their own, by name. */
export async function loadSupplierLeads(db: Reader): Promise<(typeof supplierLead.$inferSelect)[]> {
	return db.select().from(supplierLead).orderBy(asc(supplierLead.supplier));
}
