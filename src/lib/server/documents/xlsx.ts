import writeExcelFile, { type Row, type SheetData } from 'write-excel-file/node';
import type { Cell } from '../views/export/cell.ts';
import type { ExportTable } from '../views/export/table.ts';

/**
 * Tables as a workbook. Numbers are numbers, with as many decimals shown as their column has; days are
 * dates; all else is text, also where it begins like a formula.
 */
export interface WorkSheet {
	readonly name: string;
	readonly table: ExportTable;
}

const DAY = /^\d{4}-\d{2}-\d{2}$/;
const WIDEST = 60;

/** The bytes of a workbook, a sheet a table, headings held in place. */
export async function xlsxBytes(sheets: readonly WorkSheet[]): Promise<Uint8Array<ArrayBuffer>> {
	const written = sheets.map(({ name, table }) => ({
		sheet: name,
		data: sheetData(table),
		columns: widths(table),
		stickyRowsCount: 1
	}));
	return new Uint8Array(await writeExcelFile(written).toBuffer());
}

/** A workbook as the answer to a request. */
export function xlsxResponse(bytes: Uint8Array<ArrayBuffer>, fileName: string): Response {
	return new Response(bytes, {
		headers: {
			'content-type': 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet',
			'content-disposition': `attachment; filename="${fileName.replace(/[^\w.-]/g, '_')}"`,
			'cache-control': 'no-store'
		}
	});
}

function sheetData({ columns, rows }: ExportTable): SheetData {
	const formats = columns.map((_, i) => formatOf(rows.map((row) => row[i] ?? null)));
	return [
		columns.map((name) => ({ value: name, fontWeight: 'bold' as const })),
		...rows.map((row): Row => row.map((cell, i) => cellOf(cell, formats[i]!)))
	];
}

function cellOf(cell: Cell, format: string): Row[number] {
	if (cell === null || cell === '') return null;
	if (typeof cell !== 'string') return { value: Number(cell.digits), type: Number, format };
	if (DAY.test(cell))
		return { value: new Date(`${cell}T00:00:00Z`), type: Date, format: 'yyyy-mm-dd' };
	return { value: cell, type: String };
}

/** `#,##0.00` for a column whose numbers have at most two decimals. */
function formatOf(cells: readonly Cell[]): string {
	const decimals = cells.map((cell) =>
		cell === null || typeof cell === 'string' ? 0 : (cell.digits.split('.')[1]?.length ?? 0)
	);
	const most = Math.max(0, ...decimals);
	return most === 0 ? '#,##0' : `#,##0.${'0'.repeat(most)}`;
}

function widths({ columns, rows }: ExportTable): { width: number }[] {
	return columns.map((name, i) => {
		const longest = rows.reduce(
			(most, row) => Math.max(most, lengthOf(row[i] ?? null)),
			name.length
		);
		return { width: Math.min(WIDEST, longest + 2) };
	});
}

function lengthOf(cell: Cell): number {
	if (cell === null) return 0;
	return typeof cell === 'string' ? cell.length : cell.digits.length;
}
