import type { BagPart } from '#lib/domain/ledger/bags.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { Deed } from '#lib/server/commands/act.ts';
import { countStock } from '#lib/server/commands/countStock.ts';
import { recordInvoice } from '#lib/server/commands/recordInvoice.ts';
import { recordMeasurement } from '#lib/server/commands/recordMeasurement.ts';
import { recordMovement } from '#lib/server/commands/recordMovement.ts';
import { recordPriceTerms } from '#lib/server/commands/recordPriceTerms.ts';
import { releaseLot } from '#lib/server/commands/releaseLot.ts';
import { turnLot } from '#lib/server/commands/turnLot.ts';
import { bagParts, signedParts } from '#lib/server/imports/bagCell.ts';
import * as cell from '#lib/server/imports/cells.ts';
import { atFields, readFields } from '#lib/server/imports/fields.ts';
import { filled, orElse, type TableSpec } from '#lib/server/imports/tableFile.ts';
import {
	invoicesTable,
	measurementsTable,
	movementsTable,
	priceTermsTable,
	rejectionsTable,
	releasesTable
} from '#lib/server/imports/tables.ts';
import type { Lot } from '#lib/server/store/lots.ts';
import type { Site } from '#lib/server/store/site.ts';

/** The acts of a lot's page: fields as typed in, what a command says out. */
export type LotAct =
	'terms' | 'invoice' | 'movement' | 'measurement' | 'release' | 'reopen' | 'reject';

/** Where on the page an act is seen once it is done. */
export const SEEN_AT: Readonly<Record<LotAct, string>> = {
	terms: 'terms',
	invoice: 'invoices',
	movement: 'stock',
	measurement: 'green',
	release: 'recipe',
	reopen: 'recipe',
	reject: 'recipe'
};

interface Form {
	readonly deed: Deed;
	readonly lot: Lot;
	readonly site: Site;
	readonly fields: Readonly<Record<string, string>>;
}

export const ACTS: Readonly<Record<LotAct, (form: Form) => Promise<Outcome<unknown>>>> = {
	terms: (form) =>
		read(form, priceTermsTable, (value) =>
			recordPriceTerms(form.deed, { ...value, lotId: form.lot.id })
		),
	invoice: (form) =>
		read(form, invoicesTable, ({ lot: _, by: __, ...value }) =>
			recordInvoice(form.deed, { ...value, lotId: form.lot.id })
		),
	measurement: (form) =>
		read(form, measurementsTable, ({ lot: _, by: __, ...value }) =>
			atTime(form, value.at, (at) =>
				recordMeasurement(form.deed, { ...value, at, lotId: form.lot.id })
			)
		),
	release: (form) =>
		read(form, releasesTable, ({ lot: _, test: __, ...value }) =>
			atTime(form, value.at, (at) => releaseLot(form.deed, { ...value, at, lotId: form.lot.id }))
		),
	reopen: (form) => turn(form, 'reopened'),
	reject: (form) => turn(form, 'rejected'),
	movement
};

/** Reads the fields by their table. What the page knows itself is not asked for again. */
async function read<T, R>(
	{ deed, lot, site, fields }: Form,
	spec: TableSpec<T, R>,
	run: (value: T) => Promise<Outcome<unknown>>
): Promise<Outcome<unknown>> {
	// The test of a release is the one behind the newest recipe: the command finds it.
	const known = { ...fields, lot: lot.code, by: deed.by, test: '1' };
	const value = readFields(known, spec, site.currency);
	return value.ok ? run(value.value) : value;
}

/** A local time as an instant that is not in the future. */
async function atTime(
	{ deed, site }: Form,
	local: string,
	run: (at: number) => Promise<Outcome<unknown>>
): Promise<Outcome<unknown>> {
	const at = cell.instantOf(local, site.timeZone);
	if (at > deed.now) return bad({ path: 'at', message: `found ${local}, which is still to come` });
	return run(at);
}

function turn(form: Form, to: 'reopened' | 'rejected'): Promise<Outcome<unknown>> {
	return read(form, rejectionsTable, ({ reason, at: local }) =>
		atTime(form, local, (at) => turnLot(form.deed, { lotId: form.lot.id, at, turn: to, reason }))
	);
}

/** What is typed for a count: all that is there, not the difference. */
const countTable: TableSpec<{
	at: string;
	countedG: number;
	reason: string;
	bags: readonly BagPart[];
}> = {
	name: 'count',
	columns: {
		at: filled('at', cell.localTime),
		countedG: filled('mass_kg', cell.kg(0, 1_000_000)),
		reason: orElse('reason', cell.text, 'Stock count'),
		bags: orElse('bags', bagParts, [])
	},
	finish: good
};

/** Masses are typed without a sign: the kind says which way they go. */
async function movement(form: Form): Promise<Outcome<unknown>> {
	const { deed, lot, fields } = form;
	if (fields['kind'] === 'count difference')
		return read(form, countTable, ({ at: local, ...count }) =>
			atTime(form, local, async (at) =>
				led(await countStock(deed, { ...count, at, lotId: lot.id }))
			)
		);
	const typed = fields['mass_kg']?.trim() ?? '';
	const leaves = fields['kind'] !== 'received' && /^\d/.test(typed);
	const signed = { ...fields, mass_kg: leaves ? `-${typed}` : typed };
	return read({ ...form, fields: signed }, movementsTable, (value) =>
		atTime(form, value.at, async (at) => {
			const { kind, massG } = value;
			const bags = signedParts(kind, value.bags);
			const reason = value.reason || (kind === 'received' ? weighedIn(lot) : '');
			return led(await recordMovement(deed, lot.id, { at, kind, massG, reason, bags }));
		})
	);
}

function led(outcome: Outcome<null>): Outcome<null> {
	return outcome.ok ? outcome : bad(...atFields(outcome.problems, movementsTable));
}

/** A receipt needs no reason of its own. */
function weighedIn({ supplier }: Lot): string {
	return supplier === '' ? 'Weighed in' : `Weighed in from ${supplier}`;
}
