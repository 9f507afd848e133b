import { SESSION_LONGEST_MS } from './lifetimes.ts';

export const SESSION_COOKIE = 'session';

/**
 * How the session's cookie is kept: no script reads it, no other site sends it along with a form, and on
 * https it never travels in the clear.
 */
export function cookieOptions(url: URL): {
	readonly path: '/';
	readonly httpOnly: true;
	readonly sameSite: 'lax';
	readonly secure: boolean;
	readonly maxAge: number;
} {
	const maxAge = SESSION_LONGEST_MS / 1000;
	return { path: '/', httpOnly: true, sameSite: 'lax', secure: url.protocol === 'https:', maxAge };
}
