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
	/** `LOG_REQUESTS=no` writes no line a request. */
	readonly logsRequests: boolean;
}

/** Reads the settings from environment variables. */
export function readSettings(env: Record<string, string | undefined>): Settings {
	return {
		databaseUrl: env['DATABASE_URL'] || 'file:data/trierbook.db',
		databaseToken: env['DATABASE_TOKEN'] || undefined,
		openAs: env['OPEN_AS'] || undefined,
		logsRequests: env['LOG_REQUESTS'] !== 'no'
	};
}
