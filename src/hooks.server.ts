import { STATUS_CODES } from 'node:http';
import type { Handle, HandleServerError, ServerInit } from '@sveltejs/kit/hooks';
import { error, isHttpError, isRedirect, redirect, type RequestEvent } from '@sveltejs/kit';
import { isOpen, mayOpen } from '#lib/domain/access/places.ts';
import { SESSION_COOKIE } from '#lib/server/auth/cookie.ts';
import {
	askerOfDemo,
	askerOfSession,
	askerOfToken,
	isOwnMachine,
	STRANGER,
	type Asker
} from '#lib/server/auth/who.ts';
import { bodyRefusal } from '#lib/server/body.ts';
import { openDatabase, type Database } from '#lib/server/db/client.ts';
import { databaseTrouble } from '#lib/server/db/trouble.ts';
import { filePolicy, securityHeaders } from '#lib/server/headers.ts';
import { liveChanges, type LiveChanges } from '#lib/server/jobs/liveChanges.ts';
import { planSearching, type PlanSearching } from '#lib/server/jobs/planSearching.ts';
import { rereadingJob, type RereadingJob } from '#lib/server/jobs/rereading.ts';
import { errorLine, requestLine } from '#lib/server/requestLog.ts';
import { readSettings } from '#lib/server/settings.ts';
import { newestActId } from '#lib/server/store/audit.ts';
import { hasUsers } from '#lib/server/store/people.ts';
import { loadSite } from '#lib/server/store/site.ts';

/**
 * What every request goes through. Rules:
 * 1. What changes something comes from a page of this site, or bears a token.
 * 2. Who asks is told by a session, under /api by a token alone.
 * 3. Before there is an owner and a site, everything leads to the first run.
 * 4. A stranger is asked to sign in; whom the table of places keeps out is told so (domain/access).
 * 5. Each is logged by its route and status, never by what it carried.
 */
let database: Database;
let logsRequests: boolean;
let rereading: RereadingJob;
let searching: PlanSearching;
let live: LiveChanges;
let openAs: string | undefined;

/** Opens the database once, before the first request, and goes on reading what an older method read. */
export const init: ServerInit = async () => {
	const settings = readSettings(process.env);
	const options = { url: settings.databaseUrl, authToken: settings.databaseToken };
	openAs = settings.openAs;
	logsRequests = settings.logsRequests;
	database = await openDatabase(options);
	rereading = rereadingJob(options);
	searching = planSearching(options);
	live = liveChanges(database);
	// Pages that listen would keep a stopping server waiting.
	process.once('trierbook:stopping' as 'beforeExit', () => live.close());
	await rereading.startIfStale(database, 'Trierbook');
	await searching.resume(database, Date.now);
	process.once('sveltekit:shutdown', async () => {
		await Promise.all([rereading.stop(), searching.stop()]);
		await database.close();
	});
};

/** Rule 5. */
export const handle: Handle = async (input) => {
	const startedMs = performance.now();
	const { request, route, locals } = input.event;
	const log = (status: number) => {
		if (!logsRequests) return;
		const ms = performance.now() - startedMs;
		const userId = locals.actor?.userId ?? null;
		const { method } = request;
		console.log(requestLine({ at: locals.now, method, route: route.id, status, ms, userId }));
	};
	try {
		const response = await handled(input);
		log(response.status);
		return response;
	} catch (thrown) {
		log(isRedirect(thrown) || isHttpError(thrown) ? thrown.status : 500);
		throw thrown;
	}
};

/**
 * What nobody foresaw is logged whole; the page says no more than that something went wrong, or what is
 * wrong with the disk or the database server.
 */
export const handleError: HandleServerError = ({ kind, error: thrown, event }) => {
	if (kind === 'unknown') console.error(errorLine(Date.now(), event.route.id, thrown));
	const trouble = databaseTrouble(thrown);
	return trouble ? { message: trouble.message } : undefined;
};

const handled: Handle = async ({ event, resolve }) => {
	const { locals, url } = event;
	refuseBrokenForms(event.request);
	Object.assign(locals, { database, rereading, planSearching: searching, live, now: Date.now() });
	const response = isForeign(event)
		? refusal(403, 'This did not come from a page of this site, so nothing was done.')
		: ((await turnedAway(event)) ?? (await resolve(event)));
	for (const [name, value] of Object.entries(securityHeaders(url.protocol === 'https:')))
		response.headers.set(name, value);
	if (!response.headers.has('content-security-policy')) {
		const type = response.headers.get('content-type') ?? '';
		response.headers.set('content-security-policy', filePolicy(type));
	}
	// What one person may read is not for a shared computer's next one.
	if (!response.headers.has('cache-control'))
		response.headers.set('cache-control', 'private, no-cache');
	return response;
};

const isApi = ({ url }: RequestEvent) => /^\/api(\/|$)/.test(url.pathname);

/** A form that did not arrive whole, or is too large, is refused in words wherever it is read. */
function refuseBrokenForms(request: Request): void {
	const read = request.formData.bind(request);
	request.formData = async () => {
		try {
			return await read();
		} catch (thrown) {
			error(...bodyRefusal(thrown));
		}
	};
}

/** Rule 1. A browser says where a request comes from; without a word it is none of ours. */
function isForeign(event: RequestEvent): boolean {
	const { request, url } = event;
	if (['GET', 'HEAD', 'OPTIONS'].includes(request.method) || isApi(event)) return false;
	return request.headers.get('origin') !== url.origin;
}

/** Rules 2 to 4: the answer for whoever may not go on; null for who may. */
async function turnedAway(event: RequestEvent): Promise<Response | null> {
	const { locals, url, request } = event;
	const asker = await whoAsks(event);
	locals.actor = asker?.actor ?? STRANGER;
	locals.sessionId = asker?.sessionId ?? null;
	locals.isOpenDemo = asker !== null && asker.sessionId === null && !isApi(event);
	const path = url.pathname;
	if (isOpen(path)) return null;
	const isPage = request.method === 'GET' && !isApi(event) && event.route.id !== '/live';
	// Before the page reads anything, so that no change falls between.
	locals.newestAct = isPage ? await newestActId(database.orm) : 0;
	if (!asker) {
		if (!isPage)
			return refusal(401, isApi(event) ? 'A token is missing or no longer good.' : SIGN_IN);
		redirect(303, (await hasUsers(database.orm)) ? `/sign-in${backTo(url)}` : '/welcome');
	}
	if (!(await loadSite(database.orm)))
		return isPage ? redirect(303, '/welcome') : refusal(409, 'The site is not set up yet.');
	// An address that leads nowhere is told so to everyone who is signed in.
	if (event.route.id === null || mayOpen(asker.actor.role, path)) return null;
	if (isPage) redirect(303, `/refused?from=${encodeURIComponent(path)}`);
	return refusal(
		403,
		`Your role is ${asker.actor.role}, which may not do this; nothing was changed.`
	);
}

const SIGN_IN = 'You are not signed in any more; nothing was changed. Sign in, then send it again.';

function backTo({ pathname, search }: URL): string {
	const path = pathname + search;
	return path === '/' ? '' : `?to=${encodeURIComponent(path)}`;
}

async function whoAsks(event: RequestEvent): Promise<Asker | null> {
	const { cookies, locals, request } = event;
	if (isApi(event)) return askerOfToken(database, request.headers.get('authorization'), locals.now);
	const secret = cookies.get(SESSION_COOKIE);
	const asker = secret ? await askerOfSession(database, secret, locals.now) : null;
	return asker ?? (openAs && isFromHere(event) ? askerOfDemo(database, openAs) : null);
}

function isFromHere({ getClientAddress, request, url }: RequestEvent): boolean {
	return isOwnMachine({
		clientAddress: getClientAddress(),
		hostname: url.hostname,
		isForwarded: request.headers.has('x-forwarded-for') || request.headers.has('forwarded')
	});
}

function refusal(status: number, message: string): Response {
	// Problem details, RFC 9457; `message` is what pages read.
	const body = {
		type: 'about:blank',
		title: STATUS_CODES[status],
		status,
		detail: message,
		message
	};
	return Response.json(body, { status, headers: { 'content-type': 'application/problem+json' } });
}
