import type { Column } from '#lib/ui/components/table.ts';

/** The columns of sums that every table of the statement ends with; its caption names the currency. */
export function sumColumns(): Column[] {
	const money = (key: string, label: string) => ({ key, label, numeric: true });
	return [
		{ key: 'green', label: 'Green', unit: 'kg', numeric: true },
		{ key: 'hours', label: 'Roaster', unit: 'h', numeric: true },
		money('green-cost', 'Green'),
		money('gas', 'Gas'),
		money('power', 'Power'),
		money('labour', 'Labour'),
		money('machine', 'Machine'),
		money('quality', 'Quality'),
		money('cost', 'Cost'),
		money('recovered', 'Recovered'),
		money('net', 'Net'),
		{ key: 'slots', label: 'Slots', numeric: true },
		{ key: 'margin', label: 'Margin', unit: 'est.', numeric: true }
	];
}

const MONTHS = [
	...['January', 'February', 'March', 'April', 'May', 'June', 'July'],
	...['August', 'September', 'October', 'November', 'December']
];

/** `October 2026` of `2026-10`. */
export function monthText(month: string): string {
	const name = MONTHS[Number(month.slice(5)) - 1];
	return name ? `${name} ${month.slice(0, 4)}` : month;
}

/** `October 2026` of `2026-10`, `2026` of `2026`. */
export function periodText(period: string): string {
	return period.length === 4 ? period : monthText(period);
}

/** `Oct 2026` of `2026-10`. */
export function monthOfYear(month: string): string {
	return `${monthText(month).slice(0, 3)} ${month.slice(0, 4)}`;
}

/** `Oct` of `2026-10`, with the year in January: `Jan 26`. */
export function monthShort(month: string): string {
	const name = monthText(month).slice(0, 3);
	return month.endsWith('-01') ? `${name} ${month.slice(2, 4)}` : name;
}
