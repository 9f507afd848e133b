import { bagStocks } from '#lib/domain/ledger/bags.ts';
import { lotBalance } from '#lib/domain/ledger/ledger.ts';
import type { Currency } from '#lib/domain/quantity/money.ts';
import { loadBagRows, loadInvoices, loadPeriods, loadRates } from '../../store/ledger.ts';
import { loadMovements } from '../../store/lots.ts';
import { loadLotValues } from '../greenValue.ts';
import { kg, local, minor, real, scaled, yesNo } from './cell.ts';
import { asImported, plainTable, type ExportSource, type ExportTable } from './table.ts';

/** Stock by bag and by value, what later invoices changed, rates and closed periods. */

export async function ratesTable({ db }: ExportSource): Promise<ExportTable> {
	const rates = await loadRates(db);
	const newest = new Map(rates.map((row) => [`${row.day} ${row.from} ${row.to}`, row]));
	return asImported(
		'rates.csv',
		[...newest.values()].map(({ day, from, to, rateE6, source }) => ({
			...{ day, from, to, source },
			rateE6: scaled(rateE6, 6)
		}))
	);
}

export async function invoicesTable(source: ExportSource): Promise<ExportTable> {
	const invoices = await loadInvoices(source.db);
	return asImported(
		'invoices.csv',
		invoices.map(({ day, kind, number, currency, note, by, ...row }) => ({
			...{ day, kind, number, currency, note, by },
			lot: source.lotCode(row.lotId),
			amountMinor: minor(row.amountMinor, currency),
			fxE6: scaled(row.fxE6, 6)
		}))
	);
}

export async function bagsTable(source: ExportSource): Promise<ExportTable> {
	const byLot = Map.groupBy(await loadBagRows(source.db), (row) => row.lotId);
	return plainTable(
		['lot', 'bag', 'weighed', 'received_kg', 'on_hand_kg'],
		[...byLot].flatMap(([lotId, rows]) =>
			bagStocks(rows).map(({ bag, receivedG, onHandG }) => [
				source.lotCode(lotId),
				real(bag),
				yesNo(rows.some((row) => row.bag === bag && row.weighed)),
				kg(receivedG),
				kg(onHandG)
			])
		)
	);
}

export async function bagLedgerTable(source: ExportSource): Promise<ExportTable> {
	const rows = await loadBagRows(source.db);
	return plainTable(
		['lot', 'at', 'kind', 'bag', 'mass_kg', 'named'],
		rows.map((row) => [
			source.lotCode(row.lotId),
			local(row.at, source.zone),
			row.kind,
			real(row.bag),
			kg(row.massG),
			yesNo(row.named)
		])
	);
}

export async function valuationTable(source: ExportSource): Promise<ExportTable> {
	const [values, movements] = await Promise.all([
		loadLotValues(source.db, source.site),
		loadMovements(source.db)
	]);
	const byLot = Map.groupBy(movements, (row) => row.lotId);
	const { currency } = source.site;
	return plainTable(
		[
			...['lot', 'currency', 'received_kg', 'sampled_kg', 'tested_kg', 'produced_kg'],
			...['sold_green_kg', 'written_off_kg', 'count_difference_kg', 'on_hand_kg'],
			...['weighted_average', 'first_in_first_out']
		],
		source.lots.map((lot) => {
			const balance = lotBalance(byLot.get(lot.id) ?? []);
			const last = values.get(lot.id)?.steps.at(-1);
			const cost = (value: number | undefined) =>
				last?.isCosted ? minor(value ?? 0, currency) : null;
			return [
				...[lot.code, currency, kg(balance.receivedG), kg(balance.sampledG)],
				...[kg(balance.testedG), kg(balance.producedG), kg(balance.soldGreenG)],
				...[kg(balance.writtenOffG), kg(balance.countDifferenceG), kg(balance.onHandG)],
				...[cost(last?.value.averageMinor), cost(last?.value.fifoMinor)]
			];
		})
	);
}

/** What new terms and invoices changed after coffee had come, and how it was shared. */
export async function correctionsTable(source: ExportSource): Promise<ExportTable> {
	const values = await loadLotValues(source.db, source.site);
	const invoices = new Map((await loadInvoices(source.db)).map((row) => [row.id, row]));
	const currency: Currency = source.site.currency;
	return plainTable(
		[
			...['lot', 'at', 'because_of', 'currency', 'difference', 'on_hand', 'used', 'to_come'],
			...['used_for']
		],
		[...values].flatMap(([lotId, { steps }]) =>
			steps.flatMap(({ event, sharing, invoiceId }) => {
				if (event.kind !== 'correct' || !sharing) return [];
				const document = invoices.get(invoiceId ?? -1);
				const uses = sharing.byUse.map(
					({ use, minor: part }) => `${use} ${String(part)} minor units`
				);
				return [
					[
						source.lotCode(lotId),
						local(event.at, source.zone),
						document ? `${document.kind} ${document.number}` : 'new terms',
						currency,
						minor(event.minor, currency),
						minor(sharing.onHandMinor, currency),
						minor(sharing.usedMinor, currency),
						minor(sharing.toComeMinor, currency),
						uses.join('; ')
					]
				];
			})
		)
	);
}

export async function periodsTable(source: ExportSource): Promise<ExportTable> {
	const periods = await loadPeriods(source.db);
	return plainTable(
		['month', 'closed_at', 'by', 'note'],
		periods.map((row) => [row.month, local(row.at, source.zone), row.by, row.note])
	);
}
