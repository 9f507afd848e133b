import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { count, getTableName, is } from 'drizzle-orm';
import { SQLiteTable } from 'drizzle-orm/sqlite-core';
import { openDatabase, type Database } from '#lib/server/db/client.ts';
import * as schema from '#lib/server/db/schema.ts';

export interface TestDatabase {
	readonly database: Database;
	readonly url: string;
	/** Closes it and removes its folder. */
	remove(): Promise<void>;
}

/** A new, empty, migrated database in a folder of its own. */
export async function newDatabase(): Promise<TestDatabase> {
	const folder = mkdtempSync(join(tmpdir(), 'trierbook-'));
	const url = `file:${join(folder, 'test.db')}`;
	const database = await openDatabase({ url });
	return {
		database,
		url,
		async remove() {
			await database.close();
			rmSync(folder, { recursive: true, force: true });
		}
	};
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
