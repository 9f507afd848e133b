import { mkdirSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { createClient } from '@libsql/client';
import { drizzle, type LibSQLDatabase } from 'drizzle-orm/libsql';
import { migrate } from 'drizzle-orm/libsql/migrator';
import { migrationsFolder } from './migrationsFolder.ts';
import * as schema from './schema.ts';

/**
 * The database: an embedded libSQL file or a remote libSQL server. Rules:
 * 1. Reads go straight to `orm`.
 * 2. Every write goes through `write`, one transaction at a time: concurrent write transactions in one
 *    process are refused at once or block the event loop for the whole busy timeout.
 * 3. A transaction that throws leaves nothing behind.
 */
export type Orm = LibSQLDatabase<typeof schema>;
export type Tx = Parameters<Parameters<Orm['transaction']>[0]>[0];
/** What a query can run on: the database or a transaction. */
export type Reader = Orm | Tx;

export interface Database {
	readonly orm: Orm;
	/** Runs `work` in a write transaction after every earlier one has ended. */
	write<T>(work: (tx: Tx) => Promise<T>): Promise<T>;
	/** Waits for the writes under way, then closes. */
	close(): Promise<void>;
}

export interface DatabaseOptions {
	/** `file:…`, `libsql:`, `http:` or `https:` address. */
	readonly url: string;
	readonly authToken?: string | undefined;
}

/** Milliseconds another process may hold the file before a write is refused. */
const BUSY_TIMEOUT_MS = 5000;

/**
 * Opens the database, creating the file and its folder where needed, and brings it to the newest
 * schema. Throws when the file cannot be opened or a migration fails; nothing is half migrated.
 */
export async function openDatabase(options: DatabaseOptions): Promise<Database> {
	const file = options.url.startsWith('file:') ? options.url.slice('file:'.length) : null;
	if (file !== null) mkdirSync(dirname(resolve(file)), { recursive: true });
	const client = createClient({
		url: options.url,
		timeout: BUSY_TIMEOUT_MS,
		...(options.authToken ? { authToken: options.authToken } : {})
	});
	if (file !== null) await client.execute('PRAGMA journal_mode = WAL');
	const orm = drizzle(client, { schema });
	await migrate(orm, { migrationsFolder: migrationsFolder() });
	let queue: Promise<unknown> = Promise.resolve();
	return {
		orm,
		write(work) {
			const run = queue.then(() => orm.transaction(work, { behavior: 'immediate' }));
			queue = run.catch(() => undefined);
			return run;
		},
		async close() {
			await queue;
			client.close();
		}
	};
}
