import { SESSION_COOKIE } from '#lib/server/auth/cookie.ts';
import { askerOfSession } from '#lib/server/auth/who.ts';
import type { RequestHandler } from './$types';

/** What changed since the act `after`, as server-sent events (jobs/liveChanges.ts). */
export const GET: RequestHandler = ({ locals, cookies, url }) => {
	const { database, actor, sessionId, live } = locals;
	const after = Number(url.searchParams.get('after') ?? 'none');
	if (!Number.isSafeInteger(after) || after < 0)
		return new Response('Expected after=NUMBER, the newest act that the page shows.\n', {
			status: 400
		});
	const secret = cookies.get(SESSION_COOKIE);
	const stream = live.open({
		...{ actor, after },
		async isStillIn() {
			if (sessionId === null || !secret) return true;
			const asker = await askerOfSession(database, secret, Date.now());
			return asker !== null && asker.actor.role === actor.role;
		}
	});
	if (!stream) return new Response('Too many pages of yours listen already.\n', { status: 429 });
	return new Response(stream, {
		headers: {
			'content-type': 'text/event-stream',
			'cache-control': 'no-store',
			// A proxy that waits for the end would wait for ever.
			'x-accel-buffering': 'no'
		}
	});
};
