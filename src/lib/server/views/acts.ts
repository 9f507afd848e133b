import { momentOf } from './moment.ts';

/** How what was kept about an act is put for a person: `words value`, instants in the site's time. */
export function detailText(detail: Readonly<Record<string, unknown>>, zone: string): string {
	const { before, after, ...rest } = detail;
	const changes = isRecord(after) ? [changeText(isRecord(before) ? before : {}, after, zone)] : [];
	return [...partsOf(rest, zone), ...changes].filter((part) => part !== '').join(', ');
}

/** `name Drum A → Drum B`; without an arrow where there was nothing before. */
function changeText(
	before: Readonly<Record<string, unknown>>,
	after: Readonly<Record<string, unknown>>,
	zone: string
): string {
	const keys = [...new Set([...Object.keys(before), ...Object.keys(after)])];
	return keys
		.filter((key) => !isOurs(key))
		.map((key) => {
			const to = valueText(key, after[key], zone);
			return key in before
				? `${inWords(key)} ${valueText(key, before[key], zone)} → ${to}`
				: `${inWords(key)} ${to}`;
		})
		.join(', ');
}

function partsOf(record: Readonly<Record<string, unknown>>, zone: string): string[] {
	return Object.entries(record).flatMap(([key, value]) =>
		value === null || value === '' || isOurs(key)
			? []
			: [`${inWords(key)} ${valueText(key, value, zone)}`]
	);
}

/** Numbers of rows say nothing to a person, and the lot stands beside. */
function isOurs(key: string): boolean {
	return /(^|[a-z])Id$/.test(key) || key === 'lot';
}

function isRecord(value: unknown): value is Readonly<Record<string, unknown>> {
	return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function valueText(key: string, value: unknown, zone: string): string {
	if (value === null || value === undefined || value === '') return 'blank';
	if (/^at$|At$/.test(key) && typeof value === 'number') {
		const { day, clock } = momentOf(value, zone);
		return `${day} ${clock}`;
	}
	return typeof value === 'object' ? JSON.stringify(value) : String(value);
}

/** `weightLossPpm` as `weight loss ppm`. */
function inWords(key: string): string {
	return key.replace(/([a-z0-9])([A-Z])/g, '$1 $2').toLowerCase();
}
