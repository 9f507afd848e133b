import type { z } from 'zod';
import type { Act } from '../commands/act.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { hashOf } from '../auth/secret.ts';
import { ApiProblem, problemResponse } from './problem.ts';
import { CALLS_A_MINUTE, LIVE_CALLS_A_MINUTE, rateLimit, type RateLimit } from './rate.ts';

/** One call of the interface for programs: what it takes, what it answers, and how it is said in OpenAPI. */
export interface Operation {
	readonly id: string;
	readonly method: 'GET' | 'PUT' | 'POST' | 'DELETE';
	/** Below `/api/v1`, parameters in braces: `/lots/{code}`. */
	readonly path: string;
	readonly summary: string;
	readonly params: z.ZodObject;
	readonly query: z.ZodObject;
	/** JSON of a schema, bytes as they are, or nothing. */
	readonly body: z.ZodType | 'bytes' | null;
	/** JSON of a schema, a file, or nothing (204). */
	readonly answer: z.ZodType | 'file' | null;
	/** Statuses of problems beside 400, 401, 403 and 429. */
	readonly refusals: readonly number[];
	readonly run: (call: Call<never, never, never>) => Promise<unknown>;
}

/** A call after its input was checked. */
export interface Call<P, Q, B> {
	readonly act: Act;
	readonly params: P;
	readonly query: Q;
	readonly body: B;
}

type BodyOf<B> = B extends z.ZodType ? z.output<B> : B extends 'bytes' ? Uint8Array : null;
type AnswerOf<A> = A extends z.ZodType ? z.input<A> : A extends 'file' ? File : void;

/** A file that is answered as it is. */
export interface File {
	readonly fileName: string;
	readonly bytes: Uint8Array;
}

/** An operation with the types of its schemas. */
export function operation<
	P extends z.ZodObject,
	Q extends z.ZodObject,
	const B extends z.ZodType | 'bytes' | null,
	const A extends z.ZodType | 'file' | null
>(
	of: Omit<Operation, 'params' | 'query' | 'body' | 'answer' | 'run'> & {
		readonly params: P;
		readonly query: Q;
		readonly body: B;
		readonly answer: A;
		readonly run: (call: Call<z.output<P>, z.output<Q>, BodyOf<B>>) => Promise<AnswerOf<A>>;
	}
): Operation {
	return of as Operation;
}

/** The largest body of JSON and of one chunk, bytes. */
export const MAX_JSON_BYTES = 64 * 1024;
export const MAX_CHUNK_BYTES = 256 * 1024;

/** What a route hands over. */
export interface Event {
	readonly locals: Act;
	readonly params: Readonly<Record<string, string | undefined>>;
	readonly url: URL;
	readonly request: Request;
}

/** The count of this process (rate.ts, rule 4). */
const OF_PROCESS = rateLimit();

/** The handler of a route: checks what came, runs the operation, checks what goes. */
export function answer(
	op: Operation,
	limit: RateLimit = OF_PROCESS
): (event: Event) => Promise<Response> {
	return async ({ locals, params, url, request }) => {
		try {
			const waitS = waitOf(op, request, limit, locals.now);
			if (waitS > 0) return tooMany(waitS);
			const call = {
				act: { database: locals.database, now: locals.now, actor: locals.actor },
				params: checked(op.params, params),
				query: checked(op.query, Object.fromEntries(url.searchParams)),
				body: await bodyOf(op, request)
			};
			return responseOf(op, await op.run(call as Call<never, never, never>));
		} catch (error) {
			if (error instanceof ApiProblem) return problemResponse(error);
			console.error(error);
			return problemResponse(
				new ApiProblem(500, 'Something went wrong on our side; nothing was changed.')
			);
		}
	};
}

/** Seconds that a token has to wait; whoever comes without one was turned away before. */
function waitOf({ path }: Operation, request: Request, limit: RateLimit, now: InstantMs): number {
	const token = request.headers.get('authorization');
	if (token === null) return 0;
	const isLive = path.startsWith('/live-logs');
	const most = isLive ? LIVE_CALLS_A_MINUTE : CALLS_A_MINUTE;
	return limit.take(`${isLive ? 'live' : 'other'} ${hashOf(token)}`, most, now);
}

function tooMany(waitS: number): Response {
	const response = problemResponse(
		new ApiProblem(429, `Too many calls in a minute; nothing was done. Wait ${waitS} s.`)
	);
	response.headers.set('retry-after', String(waitS));
	return response;
}

function checked(schema: z.ZodType, input: unknown): unknown {
	const parsed = schema.safeParse(input);
	if (parsed.success) return parsed.data;
	const errors = parsed.error.issues.map(({ path, message }) => ({
		path: path.join('.') || 'input',
		message
	}));
	throw new ApiProblem(
		400,
		'The call is not as the document at /api/v1/openapi.json says.',
		errors
	);
}

async function bodyOf({ body }: Operation, request: Request): Promise<unknown> {
	if (body === null) return null;
	if (body === 'bytes') return bytesOf(request, MAX_CHUNK_BYTES);
	const bytes = await bytesOf(request, MAX_JSON_BYTES);
	let json: unknown;
	try {
		json = JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytes));
	} catch {
		throw new ApiProblem(400, 'The body is no JSON in UTF-8.');
	}
	return checked(body, json);
}

/** Reads a body and stops where it is too large, whatever its headers say. */
async function bytesOf(request: Request, most: number): Promise<Uint8Array> {
	const parts: Uint8Array[] = [];
	let size = 0;
	for await (const part of request.body ?? []) {
		size += part.byteLength;
		if (size > most)
			throw new ApiProblem(413, `The body is larger than ${most} bytes; nothing was kept.`);
		parts.push(part);
	}
	return new Uint8Array(Buffer.concat(parts));
}

function responseOf({ answer: schema }: Operation, value: unknown): Response {
	if (schema === null) return new Response(null, { status: 204 });
	if (schema !== 'file') return Response.json(schema.parse(value));
	const { fileName, bytes } = value as File;
	return new Response(new Uint8Array(bytes), {
		headers: {
			'content-type': 'application/octet-stream',
			'content-disposition': `attachment; filename*=UTF-8''${encodeURIComponent(fileName.replace(/^.*[\\/]/, ''))}`
		}
	});
}
