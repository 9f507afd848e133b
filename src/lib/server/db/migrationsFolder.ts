import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** The absolute path of `drizzle/`, from the sources as well as from the built server. */
export function migrationsFolder(): string {
	let folder = dirname(fileURLToPath(import.meta.url));
	while (!existsSync(join(folder, 'drizzle', 'meta', '_journal.json'))) {
		const parent = dirname(folder);
		if (parent === folder) throw new Error('The folder drizzle/ with the migrations is missing.');
		folder = parent;
	}
	return join(folder, 'drizzle');
}
