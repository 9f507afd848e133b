/** The form of an intake: every file's fields in one, named `f<file>.<field>`. */
import { numberTyped } from '../../numberIn.ts';

export type Fields = Readonly<Record<string, string>>;

/** Name of a file's field in the form. */
export function fieldName(fileId: number, field: string): string {
	return `f${fileId}.${field}`;
}

/** Fields that can be given for every file at once; the form names them `all.<field>`. */
export const ALIKE = ['lot', 'stage', 'by', 'air_flow_g_s', 'sensor_lag_s'] as const;

export interface Described {
	readonly fileId: number;
	readonly version: number;
	readonly about: Record<string, string>;
}

/**
 * What was typed about each file, with the version that was seen.
 * @param options.fill gives a blank field what was given for every file
 */
export function describedFiles(fields: Fields, options: { fill: boolean }): Described[] {
	const files = new Map<number, Described>();
	for (const [name, value] of Object.entries(fields)) {
		const match = /^f(\d{1,15})\.([a-z_]+)$/.exec(name);
		if (!match) continue;
		const fileId = Number(match[1]);
		const field = match[2]!;
		const file = files.get(fileId) ?? { fileId, version: 0, about: {} };
		if (field === 'version') files.set(fileId, { ...file, version: numberTyped(value) });
		else files.set(fileId, { ...file, about: { ...file.about, [field]: value } });
	}
	if (options.fill)
		for (const { about } of files.values())
			for (const field of ALIKE) {
				const given = fields[`all.${field}`]?.trim() ?? '';
				if (about[field] !== undefined && about[field].trim() === '') about[field] = given;
			}
	return [...files.values()];
}
