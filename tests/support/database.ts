import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { count, getTableName, is } from 'drizzle-orm';
import { SQLiteTable } from 'drizzle-orm/sqlite-core';
import { openDatabase, type Database } from '#lib/server/db/client.ts';
import * as schema from '#lib/server/db/schema.ts';
import { newRemoteUrl, removeRemote } from './libsql/start.ts';

export interface TestDatabase {
	readonly database: Database;
	readonly url: string;
	/** Closes it and throws it away. */
	remove(): Promise<void>;
}

/** Whether these tests run on the stand-in for a libSQL server (project database-remote). */
export const isRemote = process.env['TEST_DATABASE'] === 'remote';

/** A new, empty, migrated database: a file in a folder of its own, or one on the stand-in. */
export async function newDatabase(): Promise<TestDatabase> {
	const { url, discard } = isRemote ? await remote() : local();
	const database = await openDatabase({ url });
	return {
		database,
		url,
		async remove() {
			await database.close();
			await discard();
		}
	};
}

function local() {
	const folder = mkdtempSync(join(tmpdir(), 'trierbook-'));
	const discard = async () => rmSync(folder, { recursive: true, force: true });
	return { url: `file:${join(folder, 'test.db')}`, discard };
}

async function remote() {
	const url = await newRemoteUrl();
	return { url, discard: () => removeRemote(url) };
}

/** Rows of every table by its name. */
export async function rowCounts({ orm }: Database): Promise<Record<string, number>> {
	const tables = Object.values(schema).filter((each) => is(each, SQLiteTable));
	const counts = await Promise.all(
		tables.map(async (table) => {
			const rows = await orm.select({ rows: count() }).from(table);
			return [getTableName(table), rows[0]!.rows] as const;
		})
	);
	return Object.fromEntries(counts);
}
