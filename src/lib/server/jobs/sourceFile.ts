import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** A source from the top of the checkout, for the built server too: Node runs it as it is. */
export function sourceFile(path: string): string {
	let folder = dirname(fileURLToPath(import.meta.url));
	while (!existsSync(join(folder, path))) {
		const parent = dirname(folder);
		if (parent === folder) throw new Error(`${path} is missing.`);
		folder = parent;
	}
	return join(folder, path);
}
