import type { RequestListener, Server } from 'node:http';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { isLoopback } from '#lib/server/auth/who.ts';
import { securityHeaders } from '#lib/server/headers.ts';
import { readSettings } from '#lib/server/settings.ts';
import { ROOT } from './build.ts';
import { limitedServer } from './limits.ts';

/** Twenty sample logs at once, with room to spare. */
const BODY_SIZE_LIMIT = '64M';
/** How long a stopping server waits for requests under way, ms. */
const PATIENCE_MS = 5000;
const LOOPBACK = ['127.0.0.1', '::1', 'localhost'];

export interface ServeOptions {
	/** 0 takes any free port. */
	readonly port: number;
	/** Interface to listen on; only this machine by default. */
	readonly host?: string | undefined;
	/** `file:…` or a libSQL address; `DATABASE_URL` or the embedded file by default. */
	readonly databaseUrl?: string | undefined;
}

export interface Serving {
	/** For a browser on this machine, e.g. `http://localhost:4173`. */
	readonly address: string;
	/** Takes no new requests, waits for those under way and for the app to close its database. */
	stop(): Promise<void>;
}

/**
 * Serves the built app (see `buildIfNeeded`) and resolves once it answers. The app reads its settings
 * from the environment as it starts, so a process can serve one database only.
 * Throws when the port is taken, the app cannot start, or OPEN_AS would open it to more than this machine.
 */
export async function serve(options: ServeOptions): Promise<Serving> {
	const host = options.host ?? '127.0.0.1';
	refuseOpenToAll(host);
	setEnvironment(options);
	const server = limitedServer(
		withProtocol(await loadHandler(), readOrigin(process.env['ORIGIN']))
	);
	await listen(server, options.port, host);
	const bound = server.address();
	if (bound === null || typeof bound === 'string') throw new Error('The server has no port.');
	const name = LOOPBACK.includes(host) ? 'localhost' : host.includes(':') ? `[${host}]` : host;
	return { address: `http://${name}:${bound.port}`, stop: () => stop(server) };
}

/** The line a command prints for its address, and how a test or a benchmark finds it. */
export const ADDRESS_LINE = /Trierbook is at (http:\/\/\S+)/;

/** @see ADDRESS_LINE */
export function addressLine(address: string): string {
	return `Trierbook is at ${address}`;
}

function refuseOpenToAll(host: string): void {
	const { openAs } = readSettings(process.env);
	if (openAs !== undefined && !isLoopback(host))
		throw new Error(
			`OPEN_AS lets everyone who reaches the server act as ${openAs}, so it works on 127.0.0.1 only, and HOST is ${host}. Unset one of them.`
		);
}

/** Before the handler is loaded: it and the app read the environment once. */
function setEnvironment(options: ServeOptions): void {
	process.env['DATABASE_URL'] = options.databaseUrl ?? readSettings(process.env).databaseUrl;
	process.env['NODE_ENV'] ??= 'production';
	process.env['BODY_SIZE_LIMIT'] ??= BODY_SIZE_LIMIT;
	process.env['PROTOCOL_HEADER'] ??= 'x-forwarded-proto';
}

async function loadHandler(): Promise<RequestListener> {
	const path = pathToFileURL(join(ROOT, 'build/handler.js')).href;
	const { handler } = (await import(path)) as { handler: RequestListener };
	return handler;
}

/**
 * The adapter takes the protocol as https unless a header tells it otherwise; on plain http every form
 * post would then look foreign and be refused. A proxy's own header is left as it came. Files, which the
 * adapter answers by itself, get their security headers here too.
 * @param origin the one address that the site is known by, where a proxy passes neither name nor protocol on
 */
function withProtocol(handler: RequestListener, origin: URL | null): RequestListener {
	return (request, response) => {
		if (origin) {
			request.headers['x-forwarded-proto'] = origin.protocol.replace(':', '');
			request.headers.host = origin.host;
		}
		request.headers['x-forwarded-proto'] ??= 'http';
		const isHttps = request.headers['x-forwarded-proto'] === 'https';
		for (const [name, value] of Object.entries(securityHeaders(isHttps)))
			response.setHeader(name, value);
		handler(request, response);
	};
}

/** `ORIGIN`, e.g. `https://roastery.example`. Throws, naming what it found, when it is no such address. */
function readOrigin(text: string | undefined): URL | null {
	if (!text) return null;
	const url = URL.canParse(text) ? new URL(text) : null;
	if (url && /^https?:$/.test(url.protocol) && url.origin === text.replace(/\/$/, '')) return url;
	throw new Error(`ORIGIN is "${text}"; expected an address such as https://roastery.example.`);
}

function listen(server: Server, port: number, host: string): Promise<void> {
	return new Promise((done, fail) => {
		server.once('error', (error: NodeJS.ErrnoException) => {
			const taken = error.code === 'EADDRINUSE';
			fail(taken ? new Error(`Port ${port} is taken; choose another: PORT=${port + 1}.`) : error);
		});
		server.listen(port, host, done);
	});
}

async function stop(server: Server): Promise<void> {
	process.emit('trierbook:stopping' as 'beforeExit', 0);
	const closed = new Promise<void>((done) => server.close(() => done()));
	server.closeIdleConnections();
	const patience = setTimeout(() => server.closeAllConnections(), PATIENCE_MS);
	await closed;
	clearTimeout(patience);
	await closeApp();
}

/** The adapter's own event for an app that has something to close; ours may take its time. */
async function closeApp(): Promise<void> {
	const listeners = process.listeners('sveltekit:shutdown' as 'exit') as (() => unknown)[];
	await Promise.all(listeners.map((close) => close()));
}
