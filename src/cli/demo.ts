import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { systemActor } from '#lib/domain/access/role.ts';
import { addDays, addWeeks, dayOf, weekOf } from '#lib/domain/quantity/week.ts';
import { isLoopback } from '#lib/server/auth/who.ts';
import { perform } from '#lib/server/commands/act.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { planWeek } from '#lib/server/commands/planWeek.ts';
import { openDatabase, type Database } from '#lib/server/db/client.ts';
import { readSettings } from '#lib/server/settings.ts';
import { loadSite, requireSite } from '#lib/server/store/site.ts';
import { buildIfNeeded, ROOT } from './support/build.ts';
import { demoFiles } from './support/demoFiles.ts';
import { DEMO_OWNER, demoPeopleLines, makeDemoPeople } from './support/demoPeople.ts';
import { serveUntilStopped } from './support/until-stopped.ts';

/**
 * `npm run demo`: loads the demo roastery through the import that a user's files take, builds and serves
 * it. A second run keeps the data; `-- --fresh` starts over. The database is data/demo.db, apart from
 * that of `npm start`, unless DATABASE_URL names another, which `--fresh` leaves alone.
 */
const FILE = join(ROOT, 'data', 'demo.db');

const url = (process.env['DATABASE_URL'] ||= `file:${FILE}`);
if (process.argv.includes('--fresh') && url === `file:${FILE}`)
	for (const end of ['', '-wal', '-shm']) rmSync(FILE + end, { force: true });

/** Nobody signs in to look at the demo, as long as nobody but this machine can reach it. */
const isOpen = isLoopback(process.env['HOST'] || '127.0.0.1');
if (isOpen) process.env['OPEN_AS'] ??= DEMO_OWNER;
// Whoever looks at the demo reads its first lines, not a log.
process.env['LOG_REQUESTS'] ??= 'no';

await serveUntilStopped(async () => {
	const loaded = await load();
	if (!process.argv.includes('--no-build')) await buildIfNeeded();
	return [
		loaded,
		...demoPeopleLines(isOpen),
		'Look first at the Overview: what must be released and when, what is next to test, what testing cost.',
		'Then open a lot that is in test, its sample reading, and the Week. Ctrl+C stops it.'
	];
});

/** Loads the demo into an empty database; says what it found or did. */
async function load(): Promise<string> {
	const { databaseToken: authToken } = readSettings(process.env);
	const database = await openDatabase({ url, authToken });
	try {
		await makeDemoPeople(database, Date.now());
		if (await loadSite(database.orm))
			return 'The demo roastery is as you left it; --fresh loads it anew.';
		const startedMs = Date.now();
		const outcome = await importTables(
			{ database, now: startedMs, actor: systemActor('Demo') },
			demoFiles(startedMs)
		);
		if (!outcome.ok)
			throw new Error(
				`The demo roastery was not loaded.\n${outcome.problems.map((p) => `${p.path}: ${p.message}`).join('\n')}`
			);
		await planWeeks(database, startedMs);
		const { rows, logs } = outcome.value;
		const tookS = ((Date.now() - startedMs) / 1000).toFixed(1);
		return `Loaded the demo roastery: ${rows} rows and ${logs} roast logs in ${tookS} s.`;
	} finally {
		await database.close();
	}
}

/** Plans this week, or the next at its end, and the one after: a roastery that uses the demo would have. */
async function planWeeks(database: Database, nowMs: number): Promise<void> {
	const { timeZone } = await requireSite(database.orm);
	const week = weekOf(addDays(dayOf(nowMs, timeZone), 2));
	for (const each of [week, addWeeks(week, 1)]) {
		const planned = await perform({ database, now: nowMs, actor: systemActor('Demo') }, (deed) =>
			planWeek(deed, each)
		);
		if (!planned.ok) throw new Error(planned.problems.map((p) => p.message).join('\n'));
	}
}
