import { accessSync, constants, mkdirSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { createClient, type Client } from '@libsql/client';
import { drizzle, type LibSQLDatabase } from 'drizzle-orm/libsql';
import { migrate } from 'drizzle-orm/libsql/migrator';
import { migrationsFolder } from './migrationsFolder.ts';
import * as schema from './schema.ts';
import { databaseTrouble, isConnectionLost, UnknownOutcome } from './trouble.ts';

/**
 * The database: an embedded libSQL file or a remote libSQL server. Rules:
 * 1. Reads go straight to `orm`.
 * 2. Every write goes through `write`, one transaction at a time: concurrent write transactions in one
 *    process are refused at once or block the event loop for the whole busy timeout.
 * 3. A transaction that throws leaves nothing behind, `UnknownOutcome` aside: a server that went away during the
 *    commit may have kept all of it.
 */
export type Orm = LibSQLDatabase<typeof schema>;
export type Tx = Parameters<Parameters<Orm['transaction']>[0]>[0];
/** What a query can run on: the database or a transaction. */
export type Reader = Orm | Tx;

export interface Database {
	readonly orm: Orm;
	/** Runs `work` in a write transaction after every earlier one has ended. */
	write<T>(work: (tx: Tx) => Promise<T>): Promise<T>;
	/** Has `listener` called after each write that was kept. */
	onWrite(listener: () => void): void;
	/** Waits for the writes under way, then closes. */
	close(): Promise<void>;
}

export interface DatabaseOptions {
	/** `file:…`, `libsql:`, `http:` or `https:` address. */
	readonly url: string;
	readonly authToken?: string | undefined;
	/** Milliseconds that a server may take for one answer, 30 seconds unless given. */
	readonly patienceMs?: number | undefined;
}

const PATIENCE_MS = 30_000;

/** Milliseconds another process may hold the file before a write is refused. */
const BUSY_TIMEOUT_MS = 5000;

/**
 * Opens the database, creating the file and its folder where needed, and brings it to the newest
 * schema. Throws when the file cannot be opened, the server doesn't answer or refuses the token, or a
 * migration fails; nothing is half migrated.
 */
export async function openDatabase(options: DatabaseOptions): Promise<Database> {
	const file = options.url.startsWith('file:') ? options.url.slice('file:'.length) : null;
	if (file !== null) mkdirSync(dirname(resolve(file)), { recursive: true });
	const client = clientOf(options);
	const orm = drizzle(client, { schema });
	try {
		if (file !== null) await client.execute('PRAGMA journal_mode = WAL');
		await migrate(orm, { migrationsFolder: migrationsFolder() });
		// With a log left beside it, a file on a read-only disk opens all the same.
		if (file !== null) accessSync(file, constants.W_OK);
	} catch (error) {
		client.close();
		throw notOpened(options.url, error);
	}
	let queue: Promise<unknown> = Promise.resolve();
	const listeners: (() => void)[] = [];
	return {
		orm,
		write(work) {
			const run = queue.then(() => inTransaction(orm, work));
			queue = run.then(
				() => listeners.forEach((listener) => listener()),
				() => undefined
			);
			return run;
		},
		onWrite(listener) {
			listeners.push(listener);
		},
		async close() {
			await queue;
			client.close();
		}
	};
}

/** A connection to the file or server, nothing migrated. */
export function clientOf({ url, authToken, patienceMs = PATIENCE_MS }: DatabaseOptions): Client {
	return createClient({
		url,
		timeout: BUSY_TIMEOUT_MS,
		...(authToken ? { authToken } : {}),
		...(url.startsWith('file:')
			? {}
			: {
					fetch: (request: Request) => fetch(request, { signal: AbortSignal.timeout(patienceMs) })
				})
	});
}

const IMMEDIATE = { behavior: 'immediate' } as const;

async function inTransaction<T>(orm: Orm, work: (tx: Tx) => Promise<T>): Promise<T> {
	let isDone = false;
	let first: unknown;
	try {
		return await orm.transaction(async (tx) => {
			try {
				const result = await work(tx);
				isDone = true;
				return result;
			} catch (error) {
				first = error;
				throw error;
			}
		}, IMMEDIATE);
	} catch (error) {
		if (isDone && isConnectionLost(error)) throw new UnknownOutcome(error);
		// Taking it back can fail too, on a server that did so by itself; the cause is what went wrong first.
		throw first ?? error;
	}
}

/** Why a server's database was not opened, with its address and never its token. */
function notOpened(url: string, error: unknown): unknown {
	const trouble = databaseTrouble(error);
	if (!trouble) return error;
	if (url.startsWith('file:'))
		return new Error(`The database ${url} was not opened. ${trouble.message}`, { cause: error });
	const { host } = new URL(url);
	const reason = isConnectionLost(error)
		? 'does not answer'
		: 'refused to be opened; see its log, and DATABASE_TOKEN';
	return new Error(`The database server at ${host} ${reason}.`, { cause: error });
}
