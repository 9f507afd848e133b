import type { RoasteryFiles } from '#lib/server/commands/importTables.ts';
import { parseCsv } from '#lib/server/imports/csv.ts';

/**
 * A roastery whose text begins with something hostile. A lot's own code counts as the column `lot`, since other
 * tables name it so; names of people have to bear the same everywhere.
 * @param before what stands before the filled cells of each column, by heading
 */
export function hostileRoastery(
	{ tables, logs }: RoasteryFiles,
	before: Readonly<Record<string, string>>
): RoasteryFiles {
	const changed = Object.entries(tables).map(([file, bytes]) => {
		const [heading = [], ...rows] = parseCsv(new TextDecoder().decode(bytes), ',').rows;
		const spoiled = rows.map((row) =>
			row.map((cell, i) => {
				const column = file === 'lots.csv' && heading[i] === 'code' ? 'lot' : heading[i]!;
				return cell === '' ? cell : (before[column] ?? '') + cell;
			})
		);
		// As somebody's spreadsheet writes it: nothing disarmed.
		const text = [heading, ...spoiled].map(
			(row) => row.map((cell) => `"${cell.replaceAll('"', '""')}"`).join(',') + '\n'
		);
		return [file, new TextEncoder().encode(text.join(''))] as const;
	});
	return { tables: Object.fromEntries(changed), logs };
}
