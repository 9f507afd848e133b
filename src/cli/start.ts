import { readSettings } from '#lib/server/settings.ts';
import { buildIfNeeded } from './support/build.ts';
import { serveUntilStopped } from './support/until-stopped.ts';

/**
 * `npm start`: serves the database there is, or a new empty one, until it is told to stop.
 * PORT, HOST and DATABASE_URL are 4173, 127.0.0.1 and file:data/trierbook.db unless set.
 * `--no-build` serves the build as it is.
 */
await serveUntilStopped(async () => {
	if (!process.argv.includes('--no-build')) await buildIfNeeded();
	return [`Its data is in ${readSettings(process.env).databaseUrl}; Ctrl+C stops it.`];
});
