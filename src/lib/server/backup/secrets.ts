import { NO_PASSWORD } from '../auth/password.ts';

/**
 * What lets somebody in, and is left out of an export unless it is asked for: an export is read, mailed and kept
 * for years, a backup is kept as the database is. Rules:
 * 1. Rows that are nothing but a way in are left out: sessions, tokens, invitations and the like.
 * 2. An account stays, since records name it, and opens to nobody until it is let back in.
 */
const LEFT_OUT: readonly string[] = [
	'session',
	'api_token',
	'recovery_code',
	'invitation',
	'passkey',
	'passkey_challenge',
	'calendar_feed',
	'failed_sign_in'
];

const WITHOUT: Readonly<Record<string, Readonly<Record<string, unknown>>>> = {
	user: { password: NO_PASSWORD, totp_secret: null, totp_pending: null, totp_step: null }
};

/** Whether a table is nothing but ways in (rule 1). */
export function isLeftOut(table: string): boolean {
	return LEFT_OUT.includes(table);
}

/** A row without its ways in (rule 2). */
export function withoutSecrets(
	table: string,
	row: Readonly<Record<string, unknown>>
): Readonly<Record<string, unknown>> {
	return { ...row, ...WITHOUT[table] };
}

/** Whether a column holds a way in, by the rules above. */
export function isSecret(table: string, column: string): boolean {
	return isLeftOut(table) || column in (WITHOUT[table] ?? {});
}
