/**
 * What the place of the records says when it can't do its work, for a person. Rules:
 * 1. An error of ours is not one of these.
 * 2. "Nothing was recorded" is said only where that is sure: an answer to a commit that got lost is not.
 */

/** The answer to a commit got lost: it may have been kept or not. */
export class UnknownOutcome extends Error {
	constructor(cause: unknown) {
		super('the answer to a commit got lost', { cause });
	}
}

export interface Trouble {
	/** `disk` or `database`. */
	readonly path: string;
	readonly message: string;
}

const NOTHING = 'Nothing was recorded and nothing is lost.';
const disk = (words: string): Trouble => ({ path: 'disk', message: `${words} ${NOTHING}` });
const server = (words: string): Trouble => ({ path: 'database', message: `${words} ${NOTHING}` });

const READ_ONLY = disk('The database can be read and not written: its disk or file is read-only.');
const AWAY = server('The database server does not answer: see that it runs, then send this again.');
const TOO_SLOW = server(
	'The database server took this back since it went on for too long: send it again.'
);

/** By the start of a code: of SQLite, of the libSQL protocol, of the connection. */
const TROUBLES: readonly (readonly [code: string, trouble: Trouble])[] = [
	['SQLITE_FULL', disk('The disk of the server is full: make room on it, then send this again.')],
	['SQLITE_READONLY', READ_ONLY],
	['EROFS', READ_ONLY],
	['EACCES', READ_ONLY],
	[
		'SQLITE_IOERR',
		disk('The disk of the server failed to write: look at it before anything else.')
	],
	[
		'SQLITE_CANTOPEN',
		disk('The database file can’t be opened: its folder is missing, full or read-only.')
	],
	['STREAM_EXPIRED', TOO_SLOW],
	['TRANSACTION_TIMEOUT', TOO_SLOW],
	['TRANSACTION_BUSY', server('The database server is too busy: send this again in a moment.')],
	['RESPONSE_TOO_LARGE', server('This asks the database server for more than it gives at once.')],
	['SERVER_ERROR', server('The database server refused this: see its log and the token.')],
	['ECONN', AWAY],
	['EPIPE', AWAY],
	['ENOTFOUND', AWAY],
	['EHOSTUNREACH', AWAY],
	['ETIMEDOUT', AWAY],
	['UND_ERR', AWAY],
	['HRANA_', AWAY]
];

/** What an error says of the disk or the database server, by its code or that of what caused it. */
export function databaseTrouble(error: unknown): Trouble | null {
	for (let each = error; each instanceof Error; each = each.cause) {
		if (each instanceof UnknownOutcome) return LOST;
		if (each.name === 'TimeoutError') return AWAY;
		const code = String((each as { code?: unknown }).code);
		const found = TROUBLES.find(([start]) => code.startsWith(start));
		if (found) return found[1];
	}
	return null;
}

const LOST: Trouble = {
	path: 'database',
	message:
		'The database server stopped answering while it was recording this. Look whether it is there before you send it again; it was recorded whole or not at all.'
};

/** Whether the connection broke or the server gave up, so that what it did last is not known. */
export function isConnectionLost(error: unknown): boolean {
	return databaseTrouble(error) === AWAY;
}
