import type { Reader } from '../db/client.ts';
import { countLotsBySupplier } from '../store/lots.ts';
import { loadSupplierLeads, requireSite } from '../store/site.ts';

/** Who sells green coffee, and how long theirs takes to arrive. */

export interface SupplierLine {
	readonly supplier: string;
	/** Lots of theirs on record. */
	readonly lots: number;
	readonly lotsHref: string;
	/** Days from order to arrival. */
	readonly leadDays: number;
	/** Whether that is their own and not the site's usual. */
	readonly isOwn: boolean;
	/** Of their own days; 0 where there are none. */
	readonly version: number;
}

export interface SuppliersPage {
	readonly lines: readonly SupplierLine[];
	readonly usualDays: number;
	/** The supplier whose days are being changed. */
	readonly open: SupplierLine | null;
}

/** Every supplier that a lot or a lead time names, by name. `open` is null for one that nothing names. */
export async function loadSuppliersPage(db: Reader, chosen: string | null): Promise<SuppliersPage> {
	const [site, lots, leads] = await Promise.all([
		requireSite(db),
		countLotsBySupplier(db),
		loadSupplierLeads(db)
	]);
	const counts = new Map([...leads.map(({ supplier }) => [supplier, 0] as const), ...lots]);
	const ownOf = new Map(leads.map((lead) => [lead.supplier, lead]));
	const lines = [...counts]
		.map(([supplier, count]) => ({
			...{ supplier, lots: count, lotsHref: `/lots?q=${encodeURIComponent(supplier)}` },
			leadDays: ownOf.get(supplier)?.leadDays ?? site.supplierLeadDays,
			isOwn: ownOf.has(supplier),
			version: ownOf.get(supplier)?.version ?? 0
		}))
		.sort((a, b) => a.supplier.localeCompare(b.supplier, 'en'));
	return {
		...{ lines, usualDays: site.supplierLeadDays },
		open: lines.find(({ supplier }) => supplier === chosen) ?? null
	};
}
