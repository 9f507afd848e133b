/** Rows as CSV text. */

export type Cell = string | number | boolean | null;

/** A number with at most `decimals` decimals and no needless noughts. */
export function num(value: number, decimals: number): string {
	if (!Number.isFinite(value)) return '';
	const fixed = value.toFixed(decimals);
	const short = fixed.includes('.') ? fixed.replace(/\.?0+$/, '') : fixed;
	return short === '-0' ? '0' : short;
}

export function kg(grams: number): string {
	return num(grams / 1000, 3);
}

export function table(headings: readonly string[], rows: readonly (readonly Cell[])[]): string {
	const lines = [headings, ...rows].map((row) => row.map(cellText).join(','));
	return `${lines.join('\n')}\n`;
}

function cellText(cell: Cell): string {
	if (cell === null) return '';
	if (typeof cell === 'boolean') return cell ? 'yes' : 'no';
	const text = String(cell);
	return /[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
