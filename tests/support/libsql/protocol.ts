/**
 * What goes over the wire of a libSQL server: Hrana over HTTP, versions 2 and 3 in JSON, after the open
 * specification of the protocol (read there, 2026-11-25). Field names are the protocol's.
 */
export type Value =
	| { type: 'null' }
	| { type: 'integer'; value: string }
	| { type: 'float'; value: number }
	| { type: 'text'; value: string }
	| { type: 'blob'; base64: string };

export interface Stmt {
	sql?: string | null;
	sql_id?: number | null;
	args?: Value[];
	named_args?: { name: string; value: Value }[];
	want_rows?: boolean;
}

export type Cond =
	| { type: 'ok' | 'error'; step: number }
	| { type: 'not'; cond: Cond }
	| { type: 'and' | 'or'; conds: Cond[] }
	| { type: 'is_autocommit' };

export interface Batch {
	steps: { condition?: Cond | null; stmt: Stmt }[];
}

export type StreamRequest =
	| { type: 'close' | 'get_autocommit' }
	| { type: 'execute'; stmt: Stmt }
	| { type: 'batch'; batch: Batch }
	| { type: 'sequence' | 'describe'; sql?: string | null; sql_id?: number | null }
	| { type: 'store_sql'; sql_id: number; sql: string }
	| { type: 'close_sql'; sql_id: number };

export interface StmtResult {
	cols: { name: string; decltype: string | null }[];
	rows: Value[][];
	affected_row_count: number;
	last_insert_rowid: string | null;
}

export interface BatchResult {
	step_results: (StmtResult | null)[];
	step_errors: (WireError | null)[];
}

export interface WireError {
	message: string;
	code: string;
}

/** A statement, batch or request that failed; the stream goes on. */
export class StatementError extends Error {
	readonly code: string;
	constructor(code: string, message: string) {
		super(message);
		this.code = code;
	}
	get wire(): WireError {
		return { message: this.message, code: this.code };
	}
}

/** What ends the stream: a client that breaks the protocol (400), or a stream that expired (500). */
export class StreamError extends Error {
	readonly status: number;
	/** Of an error that comes as JSON; null for plain text. */
	readonly code: string | null;
	constructor(status: number, message: string, code: string | null = null) {
		super(message);
		this.status = status;
		this.code = code;
	}
}

/** A value of the wire for SQLite. Whole numbers become bigint, so that they are stored as such. */
export function fromWire(value: Value): null | bigint | number | string | Buffer {
	switch (value.type) {
		case 'null':
			return null;
		case 'integer':
			return BigInt(value.value);
		case 'float':
		case 'text':
			return value.value;
		case 'blob':
			return Buffer.from(value.base64, 'base64');
		default:
			throw new StreamError(400, `Found no value in ${JSON.stringify(value)}`);
	}
}

/** A value of SQLite, read with safe integers, for the wire. */
export function toWire(value: unknown): Value {
	if (value === null || value === undefined) return { type: 'null' };
	if (typeof value === 'bigint') return { type: 'integer', value: value.toString() };
	if (typeof value === 'number') return { type: 'float', value };
	if (typeof value === 'string') return { type: 'text', value };
	// The protocol leaves the padding away.
	const base64 = Buffer.from(value as Uint8Array).toString('base64');
	return { type: 'blob', base64: base64.replace(/=+$/, '') };
}
