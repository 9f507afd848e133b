import type { RequestEvent } from '@sveltejs/kit';
import { cookieOptions, SESSION_COOKIE } from '#lib/server/auth/cookie.ts';

/** Hands a new session to the browser. */
export function holdSession({ cookies, url }: RequestEvent, secret: string): void {
	cookies.set(SESSION_COOKIE, secret, cookieOptions(url));
}

/** What a browser says of itself, for the list of sessions. */
export function browserOf({ request }: RequestEvent): string {
	return request.headers.get('user-agent') ?? '';
}

/** What a device answered, as the page's script wrote it into a form; null for what is no JSON. */
export function answerIn(text: string): unknown {
	try {
		return JSON.parse(text);
	} catch {
		return null;
	}
}

/** A form's text, as typed: a password keeps its spaces. */
export function textOf(form: FormData, name: string): string {
	const value = form.get(name);
	return typeof value === 'string' ? value : '';
}
