import { stampOf } from '#lib/server/backup/names.ts';
import { restoreDatabase } from '#lib/server/backup/restore.ts';
import { readSettings } from '#lib/server/settings.ts';
import { actText, oneArgument, orRefuse, recordsText } from './support/records.ts';

/** `npm run restore -- FILE`: puts a copy in the place of the database, which is kept beside it. */
const file = oneArgument('npm run restore -- FILE');
const { databaseUrl } = readSettings(process.env);
const restored = orRefuse(await restoreDatabase(databaseUrl, file, stampOf(Date.now())));
console.log(
	`${databaseUrl} is now ${file}: ${recordsText(restored.rows)}; ${actText(restored.newest)}.`
);
if (restored.kept) console.log(`What was there before is kept as ${restored.kept}.`);
