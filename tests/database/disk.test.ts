import { sql } from 'drizzle-orm';
import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { inspectDatabase } from '#lib/server/backup/inspect.ts';
import { pathOf } from '#lib/server/backup/stored.ts';
import { perform, type Act, type Deed } from '#lib/server/commands/act.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, rowCounts, type TestDatabase } from '#support/database.ts';
import { done, lotInput, setUpRoastery } from '#support/smallRoastery.ts';

/** A disk that takes nothing more (act.ts, rule 5). SQLite itself refuses, on a limit that it is given. */

const NOW = Date.UTC(2026, 10, 25, 9);

let db: TestDatabase;
let act: Act;

beforeEach(async () => {
	vi.spyOn(console, 'error').mockImplementation(() => undefined);
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Nell') };
	await setUpRoastery(act);
});
afterEach(async () => {
	vi.restoreAllMocks();
	await db.remove();
});

/** Creates lots on a connection that was told something first. */
const lotsAfter = (pragma: string, count: number) => (deed: Deed) =>
	(async () => {
		await deed.tx.run(sql.raw(`PRAGMA ${pragma}`));
		for (let i = 1; i < count; i++)
			done(await createLot(deed, lotInput(`L-${i}`, { note: 'x'.repeat(2000) })));
		return createLot(deed, lotInput('L-LAST'));
	})();

it.each([
	// The database may not grow by a page.
	['max_page_count = 1', 500, /disk of the server is full/],
	['query_only = ON', 1, /read-only/]
])('PRAGMA %s: it is said, nothing is lost and nothing half done', async (pragma, count, words) => {
	const before = await rowCounts(db.database);
	const outcome = await perform(act, lotsAfter(pragma, count));
	expect(outcome.ok).toBe(false);
	const problems = outcome.ok ? [] : outcome.problems;
	expect(problems).toHaveLength(1);
	expect(problems[0]!.path).toBe('disk');
	expect(problems[0]!.message).toMatch(words);
	expect(problems[0]!.message).toContain('Nothing was recorded');
	expect(await rowCounts(db.database)).toEqual(before);
	expect((await inspectDatabase(pathOf(db.url)!)).ok).toBe(true);
});

it('any other error is not taken for the disk', async () => {
	const broken = perform(act, () => Promise.reject(new Error('a mistake of ours')));
	await expect(broken).rejects.toThrow('a mistake of ours');
});
