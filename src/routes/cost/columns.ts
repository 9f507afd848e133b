import type { Column } from '#lib/ui/components/table.ts';

/** The columns of sums that every table of the statement ends with. */
export function sumColumns(currency: string): Column[] {
	const money = (key: string, label: string) => ({ key, label, unit: currency, numeric: true });
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
		money('net', 'Net')
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

/** `Oct` of `2026-10`, with the year in January: `Jan 26`. */
export function monthShort(month: string): string {
	const name = monthText(month).slice(0, 3);
	return month.endsWith('-01') ? `${name} ${month.slice(2, 4)}` : name;
}
