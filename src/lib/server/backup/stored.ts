import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Client, InArgs, ResultSet } from '@libsql/client';
import { clientOf } from '../db/client.ts';
import { migrationsFolder } from '../db/migrationsFolder.ts';

/** What every copy of the records is looked at by: the tables as they stand in a database, whatever they hold. */

/** Something that answers SQL: a client or a transaction. */
export interface Asked {
	execute(statement: string | { sql: string; args: InArgs }): Promise<ResultSet>;
}

/** The path of a `file:` address; null for a server's. */
export function pathOf(url: string): string | null {
	return url.startsWith('file:') ? url.slice('file:'.length) : null;
}

/** A connection of its own to a file or a server, nothing migrated. */
export function connect(url: string, authToken?: string): Client {
	return clientOf({ url, authToken });
}

export const quoted = (name: string) => `"${name.replaceAll('"', '""')}"`;

/** Names of the tables that hold records, sorted; what SQLite and the migrations keep for themselves aside. */
export async function tableNames(db: Asked): Promise<string[]> {
	const { rows } = await db.execute(
		`SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' AND name <> '__drizzle_migrations' ORDER BY name`
	);
	return rows.map(({ name }) => String(name));
}

/** Rows of each table. */
export async function countRows(db: Asked): Promise<Record<string, number>> {
	const counts: Record<string, number> = {};
	for (const name of await tableNames(db)) {
		const { rows } = await db.execute(`SELECT count(*) AS n FROM ${quoted(name)}`);
		counts[name] = Number(rows[0]!['n']);
	}
	return counts;
}

/** The newest line of the audit. */
export interface NewestAct {
	readonly id: number;
	/** UTC milliseconds. */
	readonly at: number;
	readonly by: string;
	readonly act: string;
}

/** The newest act in a database; null in an empty one. */
export async function newestAct(db: Asked): Promise<NewestAct | null> {
	const { rows } = await db.execute('SELECT id, at, "by", act FROM audit ORDER BY id DESC LIMIT 1');
	const row = rows[0];
	if (!row) return null;
	return {
		id: Number(row['id']),
		at: Number(row['at']),
		by: String(row['by']),
		act: String(row['act'])
	};
}

/** When each migration that a database went through was written, oldest first: what its schema is told by. */
export async function schemaSteps(db: Asked): Promise<number[]> {
	const { rows } = await db.execute(
		'SELECT created_at FROM __drizzle_migrations ORDER BY created_at'
	);
	return rows.map((row) => Number(row['created_at']));
}

/** The same of this version of Trierbook. */
export function ownSchemaSteps(): number[] {
	const journal = JSON.parse(
		readFileSync(join(migrationsFolder(), 'meta', '_journal.json'), 'utf8')
	) as { entries: { when: number }[] };
	return journal.entries.map(({ when }) => when);
}
