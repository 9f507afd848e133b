import { randomBytes } from 'node:crypto';
import { Connection, isBusy } from './connection.ts';
import {
	StatementError,
	StreamError,
	type Batch,
	type BatchResult,
	type Cond,
	type Stmt,
	type StmtResult,
	type StreamRequest
} from './protocol.ts';

/**
 * The streams of one database. Rules, after the protocol and the server's sources:
 * 1. A stream is one connection. Each answer gives a new baton; an old one is refused.
 * 2. A stream that nobody asks anything for `idleMs` expires, and what it had open is taken back.
 * 3. One stream writes at a time; others wait their turn. Whoever has held the right to write for longer than
 *    `transactionMs` loses it to one who waits: all of it is taken back, and it is told.
 * 4. A failed statement in a batch is told in its place; the conditions of later steps decide what runs.
 */
export interface Limits {
	readonly idleMs: number;
	readonly transactionMs: number;
	readonly maxBytes: number;
}

/** Those of the server: 10 s, 5 s and 10 MB. */
export const SERVER_LIMITS: Limits = { idleMs: 10_000, transactionMs: 5000, maxBytes: 10_000_000 };

/** Stored statements of a stream, at most, and their length. */
const STORED = 50;
const STORED_LENGTH = 5000;
const POLL_MS = 2;

interface Stream {
	connection: Connection;
	baton: string;
	readonly sqls: Map<number, string>;
	isTimedOut: boolean;
	idle?: NodeJS.Timeout;
}

export class Streams {
	readonly #path: string;
	readonly #limits: Limits;
	readonly #open = new Map<string, Stream>();
	readonly #all = new Set<Stream>();
	readonly #expired = new Set<string>();
	/** Connections of ended streams: opening one reads the whole schema. */
	readonly #spare: Connection[] = [];
	#turn: Promise<unknown> = Promise.resolve();

	constructor(path: string, limits: Limits) {
		this.#path = path;
		this.#limits = limits;
		// Readers go on while one writes, as on the server.
		this.#spare.push(Connection.inWal(path, limits.maxBytes));
	}

	/** The stream of a baton, or a new one; nobody else has it until it is put back. Throws `StreamError`. */
	take(baton: string | null): Stream {
		if (baton === null) {
			const connection = this.#spare.pop() ?? new Connection(this.#path, this.#limits.maxBytes);
			const stream = { connection, baton: '', sqls: new Map<number, string>(), isTimedOut: false };
			this.#all.add(stream);
			return stream;
		}
		const stream = this.#open.get(baton);
		if (!stream) {
			if (!this.#expired.has(baton)) throw new StreamError(400, 'The baton is invalid');
			throw new StreamError(500, 'The stream has expired due to inactivity', 'STREAM_EXPIRED');
		}
		this.#open.delete(baton);
		clearTimeout(stream.idle);
		return stream;
	}

	/** @returns its next baton (rule 1) */
	putBack(stream: Stream): string {
		stream.baton = randomBytes(24).toString('base64url');
		this.#open.set(stream.baton, stream);
		stream.idle = setTimeout(() => this.#expire(stream), this.#limits.idleMs);
		return stream.baton;
	}

	end(stream: Stream): void {
		clearTimeout(stream.idle);
		if (!this.#all.delete(stream)) return;
		stream.connection.makeAnew();
		this.#spare.push(stream.connection);
	}

	/** Closes everything. */
	close(): void {
		for (const stream of this.#all) this.end(stream);
		this.#open.clear();
		for (const connection of this.#spare.splice(0)) connection.close();
	}

	#expire(stream: Stream): void {
		this.#open.delete(stream.baton);
		this.#expired.add(stream.baton);
		this.end(stream);
	}

	/** Does one request; null for `close`, after which the stream is gone. */
	async handle(stream: Stream, request: StreamRequest): Promise<Record<string, unknown> | null> {
		const { connection, sqls } = stream;
		switch (request.type) {
			case 'close':
				return null;
			case 'get_autocommit':
				return { is_autocommit: connection.isAutocommit };
			case 'execute':
				return { result: await this.#execute(stream, request.stmt) };
			case 'batch':
				return { result: await this.batch(stream, request.batch) };
			case 'sequence': {
				const sql = textOf(request, sqls);
				await this.#inTurn(stream, () => connection.sequence(sql));
				return {};
			}
			case 'describe':
				return { result: connection.describe(textOf(request, sqls)) };
			case 'store_sql':
				store(sqls, request.sql_id, request.sql);
				return {};
			case 'close_sql':
				sqls.delete(request.sql_id);
				return {};
			default:
				throw new StreamError(400, 'The request is of no known type');
		}
	}

	/** Rule 4. */
	async batch(stream: Stream, { steps }: Batch): Promise<BatchResult> {
		const done: BatchResult = { step_results: [], step_errors: [] };
		for (const { condition, stmt } of steps) {
			let result: StmtResult | null = null;
			let failed: StatementError | null = null;
			if (!condition || holds(condition, done, stream.connection)) {
				try {
					result = await this.#execute(stream, stmt);
				} catch (error) {
					if (!(error instanceof StatementError)) throw error;
					failed = error;
				}
			}
			done.step_results.push(result);
			done.step_errors.push(failed?.wire ?? null);
		}
		return done;
	}

	#execute(stream: Stream, stmt: Stmt): Promise<StmtResult> {
		const sql = textOf(stmt, stream.sqls);
		if (stream.isTimedOut) {
			stream.isTimedOut = !/^\s*rollback/i.test(sql);
			throw new StatementError('TRANSACTION_TIMEOUT', 'Transaction timed out');
		}
		return this.#inTurn(stream, () => stream.connection.execute(stmt, sql));
	}

	/** Rule 3: tries at once, and in the order of those who wait once somebody else writes. */
	async #inTurn<T>(stream: Stream, work: () => T): Promise<T> {
		try {
			return work();
		} catch (error) {
			// Within a transaction waiting would not help: what it has read is overtaken.
			if (!isBusy(error) || !stream.connection.isAutocommit) throw error;
		}
		const turn = this.#turn.then(() => this.#wait(work));
		this.#turn = turn.catch(() => undefined);
		return turn;
	}

	async #wait<T>(work: () => T): Promise<T> {
		for (;;) {
			try {
				return work();
			} catch (error) {
				if (!isBusy(error)) throw error;
			}
			this.#takeFromWhoeverHoldsTooLong();
			await new Promise((resolve) => setTimeout(resolve, POLL_MS));
		}
	}

	#takeFromWhoeverHoldsTooLong(): void {
		for (const stream of this.#all) {
			const since = stream.connection.writesSince;
			if (since === null || performance.now() - since < this.#limits.transactionMs) continue;
			stream.connection.rollBack();
			stream.isTimedOut = true;
		}
	}
}

function textOf(
	{ sql, sql_id: id }: { sql?: string | null; sql_id?: number | null },
	sqls: ReadonlyMap<number, string>
): string {
	const text = sql ?? sqls.get(id ?? Number.NaN);
	if (text === undefined) throw new StreamError(400, `SQL text ${id} not found`);
	return text;
}

function store(sqls: Map<number, string>, id: number, sql: string): void {
	if (sqls.has(id)) throw new StreamError(400, `SQL text ${id} already exists`);
	if (sqls.size >= STORED)
		throw new StatementError('SQL_STORE_TOO_MANY', `The server already stores ${sqls.size} texts`);
	if (Buffer.byteLength(sql) > STORED_LENGTH)
		throw new StatementError('SQL_STORE_TOO_LARGE', 'The statement is too large to be stored');
	sqls.set(id, sql);
}

function holds(cond: Cond, done: BatchResult, connection: Connection): boolean {
	switch (cond.type) {
		case 'ok':
			return (done.step_results[cond.step] ?? null) !== null;
		case 'error':
			return (done.step_errors[cond.step] ?? null) !== null;
		case 'not':
			return !holds(cond.cond, done, connection);
		case 'and':
			return cond.conds.every((each) => holds(each, done, connection));
		case 'or':
			return cond.conds.some((each) => holds(each, done, connection));
		case 'is_autocommit':
			return connection.isAutocommit;
	}
}
