import { eq } from 'drizzle-orm';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { supplierLead } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';
import { versionProblem, type SeenVersion } from './versions.ts';

export interface SupplierLeadInput {
	/** As lots name it. */
	readonly supplier: string;
	/** Days from order to arrival; null to follow the site again. */
	readonly leadDays: number | null;
}

/** Says how long a supplier's coffee takes, in place of the site's usual time. */
export async function saveSupplierLead(
	deed: Deed,
	{ supplier, leadDays }: SupplierLeadInput,
	seen: SeenVersion = null
): Promise<Outcome<null>> {
	const mine = eq(supplierLead.supplier, supplier);
	const existing = (await deed.tx.select().from(supplierLead).where(mine))[0];
	const conflict = await versionProblem(
		deed,
		`The time of ${supplier}`,
		seen,
		existing?.version ?? 0,
		{
			acts: ['save supplier'],
			detail: { supplier }
		}
	);
	if (conflict) return bad({ ...conflict, path: 'version' });
	if (leadDays === null) await deed.tx.delete(supplierLead).where(mine);
	else {
		const values = { supplier, leadDays, version: (existing?.version ?? 0) + 1 };
		await deed.tx
			.insert(supplierLead)
			.values(values)
			.onConflictDoUpdate({ target: supplierLead.supplier, set: values });
	}
	await note(deed, 'save supplier', null, { supplier, ...changes(existing, { leadDays }) });
	return good(null);
}
