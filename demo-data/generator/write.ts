import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { filesOf, inventRoastery } from './roastery.ts';

/** Writes the demo roastery's files into `demo-data`; what an earlier run left of its logs goes. */
const folder = join(import.meta.dirname, '..');
for (const old of ['logs', 'truth']) rmSync(join(folder, old), { recursive: true, force: true });
const files = filesOf(inventRoastery());
let bytes = 0;
for (const [path, text] of files) {
	const target = join(folder, path);
	mkdirSync(dirname(target), { recursive: true });
	writeFileSync(target, text);
	bytes += Buffer.byteLength(text);
}
console.log(`${files.size} files, ${(bytes / 1e6).toFixed(1)} MB`);
