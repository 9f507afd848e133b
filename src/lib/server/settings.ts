/** How many backups are kept where nobody says otherwise. */
export const KEPT_BACKUPS = 30;

/** What the process is told from outside, read in one place. */
export interface Settings {
	/** `DATABASE_URL`; the embedded file by default. */
	readonly databaseUrl: string;
	/** `DATABASE_TOKEN` for a remote libSQL server. */
	readonly databaseToken: string | undefined;
	/**
	 * `OPEN_AS`, a sign-in name: whoever asks from this machine acts as that person without signing in. For
	 * the demo; the server takes it on a loopback address only.
	 */
	readonly openAs: string | undefined;
	/** `KEEP_BACKUPS`: how many copies stay in the folder of backups, 30 unless given. */
	readonly keepBackups: number;
	/** `LOG_REQUESTS=no` writes no line a request. */
	readonly logsRequests: boolean;
}

/** Reads the settings from environment variables. Throws, naming what it found, for one that can't be. */
export function readSettings(env: Record<string, string | undefined>): Settings {
	return {
		databaseUrl: env['DATABASE_URL'] || 'file:data/trierbook.db',
		databaseToken: env['DATABASE_TOKEN'] || undefined,
		openAs: env['OPEN_AS'] || undefined,
		keepBackups: wholeFrom1('KEEP_BACKUPS', env['KEEP_BACKUPS'], KEPT_BACKUPS),
		logsRequests: env['LOG_REQUESTS'] !== 'no'
	};
}

function wholeFrom1(name: string, text: string | undefined, otherwise: number): number {
	if (!text) return otherwise;
	if (/^[1-9]\d{0,5}$/.test(text)) return Number(text);
	throw new Error(`${name} is "${text}"; expected a whole number from 1.`);
}
