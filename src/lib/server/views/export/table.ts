import type { Reader } from '../../db/client.ts';
import { TABLES, type TableFile } from '../../imports/tables.ts';
import { loadLots, type Lot } from '../../store/lots.ts';
import { loadProducts } from '../../store/production.ts';
import { loadRoasters, requireSite, type Site } from '../../store/site.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Cell } from './cell.ts';

/** A table as it is exported: headings and rows of the same length. */
export interface ExportTable {
	readonly columns: readonly string[];
	readonly rows: readonly (readonly Cell[])[];
}

/** What every export draws on: the records and the codes that stand for their ids. */
export interface ExportSource {
	readonly db: Reader;
	readonly now: InstantMs;
	readonly site: Site;
	readonly zone: string;
	readonly lots: readonly Lot[];
	readonly lotCode: (id: number | null) => string;
	readonly productCode: (id: number | null) => string;
	readonly roasterCode: (id: number | null) => string;
}

/** The codes of a database. Throws before the site is set up. */
export async function openSource(db: Reader, now: InstantMs): Promise<ExportSource> {
	const [site, lots, products, roasters] = await Promise.all([
		requireSite(db),
		loadLots(db),
		loadProducts(db),
		loadRoasters(db)
	]);
	return {
		...{ db, now, site, lots },
		zone: site.timeZone,
		lotCode: codeBy(lots),
		productCode: codeBy(products),
		roasterCode: codeBy(roasters)
	};
}

function codeBy(rows: readonly { readonly id: number; readonly code: string }[]) {
	const codes = new Map(rows.map((row) => [row.id, row.code]));
	return (id: number | null) => codes.get(id ?? -1) ?? '';
}

type ColumnsOf<F extends TableFile> = (typeof TABLES)[F]['columns'];
type RowFor<F extends TableFile> = { readonly [K in keyof ColumnsOf<F>]: Cell };

/** A table with the headings that its import reads, so that it can be imported again. */
export function asImported<F extends TableFile>(file: F, rows: readonly RowFor<F>[]): ExportTable {
	const columns = Object.entries(TABLES[file].columns) as [
		keyof ColumnsOf<F>,
		{ readonly name: string }
	][];
	return {
		columns: columns.map(([, column]) => column.name),
		rows: rows.map((row) => columns.map(([property]) => row[property]))
	};
}

/** A table that only goes out. */
export function plainTable(
	columns: readonly string[],
	rows: readonly (readonly Cell[])[]
): ExportTable {
	return { columns, rows };
}
