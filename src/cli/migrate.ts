import { openDatabase } from '#lib/server/db/client.ts';
import { readSettings } from '#lib/server/settings.ts';

/** `npm run migrate`: creates the database where there is none and brings it to the newest schema. */
const { databaseUrl, databaseToken } = readSettings(process.env);
try {
	const database = await openDatabase({ url: databaseUrl, authToken: databaseToken });
	await database.close();
	console.log(`${databaseUrl} has the newest schema.`);
} catch (error) {
	console.error(
		`${databaseUrl} could not be migrated: ${error instanceof Error ? error.message : error}`
	);
	process.exit(1);
}
