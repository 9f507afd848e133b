import Database from 'libsql';
import {
	fromWire,
	StatementError,
	StreamError,
	toWire,
	type Stmt,
	type StmtResult
} from './protocol.ts';

/**
 * One SQL connection of the stand-in, on an embedded libSQL file. Rules, after the server's sources:
 * 1. A busy file is told to the caller at once (`isBusy`), who waits; nothing blocks here.
 * 2. What the server refuses is refused: pragmas outside its list or with a value, ATTACH, VACUUM and what
 *    belongs to one connection only.
 * 3. An answer above the limit is refused, none of it sent.
 * 4. Errors bear the server's codes: the base code of SQLite without its extension.
 */
export class Connection {
	readonly #db: Database.Database;
	readonly #maxBytes: number;
	/** When a write transaction began here, ms; null outside one. */
	writesSince: number | null = null;

	constructor(path: string, maxBytes: number) {
		this.#db = new Database(path, { timeout: 0 });
		this.#maxBytes = maxBytes;
	}

	/** The first of a new file. */
	static inWal(path: string, maxBytes: number): Connection {
		const connection = new Connection(path, maxBytes);
		connection.#db.exec('PRAGMA journal_mode = WAL');
		return connection;
	}

	get isAutocommit(): boolean {
		return !this.#db.open || !this.#db.inTransaction;
	}

	execute(stmt: Stmt, sql: string): StmtResult {
		refuseUnsupported(sql);
		return this.#noting(sql, () => this.#run(sql, argsOf(stmt), stmt.want_rows ?? true));
	}

	sequence(sql: string): void {
		for (const each of sql.split(';')) refuseUnsupported(each);
		this.#noting(sql, () => this.#db.exec(sql));
	}

	describe(sql: string) {
		refuseUnsupported(sql);
		return translated(() => {
			const statement = this.#db.prepare(sql);
			const cols = statement.reader ? statement.columns() : [];
			return {
				params: [],
				cols: cols.map(({ name, type }) => ({ name, decltype: type })),
				is_explain: /^\s*explain/i.test(sql),
				is_readonly: !isWrite(sql)
			};
		});
	}

	/** Takes back what is open. */
	rollBack(): void {
		if (!this.isAutocommit) this.#db.exec('ROLLBACK');
		this.writesSince = null;
	}

	/** As good as new, for another stream. */
	makeAnew(): void {
		this.rollBack();
		if (this.#db.open) this.#db.exec('PRAGMA foreign_keys = ON');
	}

	close(): void {
		this.rollBack();
		if (this.#db.open) this.#db.close();
	}

	#noting<T>(sql: string, work: () => T): T {
		if (!this.#db.open) throw new StreamError(500, 'The server is stopping');
		try {
			return translated(work);
		} finally {
			if (this.isAutocommit) this.writesSince = null;
			else if (isWrite(sql)) this.writesSince ??= performance.now();
		}
	}

	#run(sql: string, args: unknown, wantsRows: boolean): StmtResult {
		// A prepared BEGIN that found the file busy would count as a statement in progress ever after.
		if (/^\s*(begin|commit|end|rollback)\b/i.test(sql)) {
			this.#db.exec(sql);
			return { cols: [], rows: [], affected_row_count: 0, last_insert_rowid: null };
		}
		const statement = this.#db.prepare(sql).safeIntegers(true);
		if (!statement.reader) {
			const { changes, lastInsertRowid } = statement.run(args);
			return {
				cols: [],
				rows: [],
				affected_row_count: Number(changes),
				last_insert_rowid: String(lastInsertRowid)
			};
		}
		const cols = statement.columns().map(({ name, type }) => ({ name, decltype: type }));
		const found = statement.raw(true).all(args) as unknown[][];
		const rows = wantsRows ? this.#withinLimit(found.map((row) => row.map(toWire))) : [];
		return { cols, rows, affected_row_count: this.#changesOf(sql), last_insert_rowid: null };
	}

	#withinLimit(rows: StmtResult['rows']): StmtResult['rows'] {
		let bytes = 0;
		for (const value of rows.flat()) {
			bytes += value.type === 'blob' ? value.base64.length : JSON.stringify(value).length;
			if (bytes > this.#maxBytes)
				throw new StatementError('RESPONSE_TOO_LARGE', 'Response is too large');
		}
		return rows;
	}

	/** Rows changed by a statement with RETURNING. */
	#changesOf(sql: string): number {
		if (!isWrite(sql)) return 0;
		// All of it: a row fetched alone leaves the statement open, and the commit busy.
		return Number((this.#db.prepare('SELECT changes()').raw(true).all() as [[number]])[0][0]);
	}
}

/** Rule 1: whether an error is that somebody else writes. */
export function isBusy(error: unknown): boolean {
	return error instanceof StatementError && error.code === 'SQLITE_BUSY';
}

function argsOf({ args = [], named_args: named = [] }: Stmt): unknown {
	if (args.length > 0 && named.length > 0)
		throw new StatementError(
			'ARGS_BOTH_POSITIONAL_AND_NAMED',
			'Specifying both positional and named arguments is not supported'
		);
	if (named.length === 0) return args.map(fromWire);
	const plain = named.map(({ name, value }) => [name.replace(/^[:@$]/, ''), fromWire(value)]);
	return Object.fromEntries(plain) as unknown;
}

const WRITES =
	/^\s*(insert|update|delete|replace|create|drop|alter|with\b[\s\S]*\b(insert|update|delete)\b|begin\s+(immediate|exclusive))/i;

function isWrite(sql: string): boolean {
	return WRITES.test(sql);
}

const FOREVER =
	'table_list index_list table_info table_xinfo index_xinfo pragma_list compile_options database_list function_list module_list encoding defer_foreign_keys foreign_keys foreign_key_list foreign_key_check collation_list data_version freelist_count integrity_check legacy_file_format page_count quick_check stats user_version';
const WITHOUT_VALUE =
	'analysis_limit application_id auto_vacuum automatic_index busy_timeout cache_size cache_spill cell_size_check checkpoint_fullfsync fullfsync hard_heap_limit journal_mode journal_size_limit legacy_alter_table locking_mode max_page_count mmap_size page_size query_only read_uncommitted recursive_triggers reverse_unordered_selects schema_version secure_delete soft_heap_limit synchronous temp_store threads trusted_schema wal_autocheckpoint';
const ALWAYS = new Set(FOREVER.split(' '));
const BARE = new Set(WITHOUT_VALUE.split(' '));

/** Rule 2. */
function refuseUnsupported(sql: string): void {
	const pragma = /^\s*pragma\s+(?:\w+\.)?(\w+)\s*(\S?)/i.exec(sql);
	const name = pragma?.[1]?.toLowerCase() ?? '';
	const isRefused = pragma
		? !ALWAYS.has(name) && !(BARE.has(name) && [undefined, '', ';'].includes(pragma[2]))
		: /^\s*(attach|detach|vacuum|reindex|analyze|create\s+temp)/i.test(sql);
	if (isRefused)
		throw new StatementError(
			'SQL_PARSE_ERROR',
			`SQL string could not be parsed: unsupported statement: ${sql}`
		);
}

/** Rule 4. */
function translated<T>(work: () => T): T {
	try {
		return work();
	} catch (error) {
		if (!(error instanceof Database.SqliteError)) throw error;
		const code = /^SQLITE_[A-Z]+/.exec(error.code)?.[0] ?? 'SQLITE_UNKNOWN';
		throw new StatementError(code, `SQLite error: ${error.message}`);
	}
}
