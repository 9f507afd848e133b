import { mkdirSync, readdirSync, rmSync } from 'node:fs';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import { join } from 'node:path';
import {
	StatementError,
	StreamError,
	type Batch,
	type BatchResult,
	type StreamRequest
} from './protocol.ts';
import { SERVER_LIMITS, Streams, type Limits } from './streams.ts';

/**
 * A stand-in for a libSQL server, of which no package of npm or Debian carries one: its HTTP protocol, spoken
 * to the real client, on embedded libSQL files. It holds many databases, `/NAME/` each, made when first asked
 * for; `DELETE /NAME/` throws one away. What it can't show: the server's own parser, replication and speed.
 */
export interface StandInOptions {
	readonly folder: string;
	/** Every request must bear it. */
	readonly token: string;
	readonly limits?: Partial<Limits>;
	/** Milliseconds before each answer, for a slow server. */
	readonly delayMs?: number;
}

export interface StandIn {
	/** The address of a database, the token included. */
	url(name: string): string;
	/** Like a crash: connections are cut, what was open is taken back. */
	kill(): Promise<void>;
}

/** Starts it in this process, on any free port. */
export async function startStandIn(options: StandInOptions): Promise<StandIn> {
	mkdirSync(options.folder, { recursive: true });
	const databases = new Map<string, Streams>();
	const limits = { ...SERVER_LIMITS, ...options.limits };
	const open = (name: string) => {
		const found = databases.get(name) ?? new Streams(join(options.folder, `${name}.db`), limits);
		databases.set(name, found);
		return found;
	};
	const server = createServer((request, response) => {
		void answer(request, response, options, open, (name) => {
			databases.get(name)?.close();
			databases.delete(name);
			for (const file of readdirSync(options.folder))
				if (file.startsWith(`${name}.db`)) rmSync(join(options.folder, file));
		});
	});
	// The server keeps connections as long as its clients do; one closed by both ends at once would be a lost answer.
	server.keepAliveTimeout = 0;
	const port = await listen(server);
	return {
		url: (name) => `http://127.0.0.1:${port}/${name}/?authToken=${options.token}`,
		async kill() {
			server.closeAllConnections();
			await new Promise((resolve) => server.close(resolve));
			for (const streams of databases.values()) streams.close();
		}
	};
}

async function answer(
	request: IncomingMessage,
	response: ServerResponse,
	options: StandInOptions,
	open: (name: string) => Streams,
	remove: (name: string) => void
): Promise<void> {
	const [, name = '', endpoint = ''] = /^\/(\w+)\/(.*)$/.exec(request.url ?? '') ?? [];
	try {
		if (request.headers.authorization !== `Bearer ${options.token}`)
			return sendText(response, 401, 'Unauthorized: the token is not valid');
		if (request.method === 'DELETE' && name) {
			remove(name);
			return sendText(response, 200, '');
		}
		if (request.method === 'GET' && /^v[23]$/.test(endpoint)) return sendText(response, 200, '');
		const body = JSON.parse(await textOf(request)) as { baton?: string | null };
		if (options.delayMs) await new Promise((resolve) => setTimeout(resolve, options.delayMs));
		if (/^v[23]\/pipeline$/.test(endpoint))
			return sendJson(response, 200, await pipeline(open(name), body as PipelineBody));
		if (endpoint === 'v3/cursor')
			return sendText(response, 200, await cursor(open(name), body as CursorBody));
		sendText(response, 404, 'Not found');
	} catch (error) {
		if (error instanceof StreamError && error.code === null)
			return sendText(response, error.status, error.message);
		const { status = 500, code = 'INTERNAL' } = error instanceof StreamError ? error : {};
		sendJson(response, status, { message: (error as Error).message, code });
	}
}

interface PipelineBody {
	baton?: string | null;
	requests: StreamRequest[];
}

async function pipeline(streams: Streams, { baton, requests }: PipelineBody) {
	const stream = streams.take(baton ?? null);
	let isClosed = false;
	const results: unknown[] = [];
	try {
		for (const request of requests) {
			if (isClosed) throw new StreamError(400, 'The stream was closed');
			try {
				const done = await streams.handle(stream, request);
				isClosed = done === null;
				results.push({ type: 'ok', response: { type: request.type, ...done } });
			} catch (error) {
				if (!(error instanceof StatementError)) throw error;
				results.push({ type: 'error', error: error.wire });
			}
		}
	} catch (error) {
		streams.end(stream);
		throw error;
	}
	if (isClosed) streams.end(stream);
	return { baton: isClosed ? null : streams.putBack(stream), base_url: null, results };
}

interface CursorBody {
	baton?: string | null;
	batch: Batch;
}

/** A batch whose rows come as lines. */
async function cursor(streams: Streams, { baton, batch }: CursorBody): Promise<string> {
	const stream = streams.take(baton ?? null);
	let done: BatchResult;
	try {
		done = await streams.batch(stream, batch);
	} catch (error) {
		streams.end(stream);
		throw error;
	}
	const entries: unknown[] = [{ baton: streams.putBack(stream), base_url: null }];
	for (const [step, result] of done.step_results.entries()) {
		const error = done.step_errors[step];
		if (error) entries.push({ type: 'step_error', step, error });
		if (!result) continue;
		const { cols, rows, affected_row_count, last_insert_rowid } = result;
		entries.push({ type: 'step_begin', step, cols });
		for (const row of rows) entries.push({ type: 'row', row });
		entries.push({ type: 'step_end', affected_row_count, last_insert_rowid });
	}
	return entries.map((entry) => `${JSON.stringify(entry)}\n`).join('');
}

async function textOf(request: IncomingMessage): Promise<string> {
	const chunks: Buffer[] = [];
	for await (const chunk of request) chunks.push(chunk as Buffer);
	return Buffer.concat(chunks).toString();
}

function sendText(response: ServerResponse, status: number, text: string): void {
	response.writeHead(status, { 'content-type': 'text/plain' }).end(text);
}

function sendJson(response: ServerResponse, status: number, body: unknown): void {
	response.writeHead(status, { 'content-type': 'application/json' }).end(JSON.stringify(body));
}

function listen(server: Server): Promise<number> {
	return new Promise((resolve, reject) => {
		server.once('error', reject);
		server.listen(0, '127.0.0.1', () => {
			const bound = server.address();
			if (bound === null || typeof bound === 'string') reject(new Error('The server has no port.'));
			else resolve(bound.port);
		});
	});
}
