import { createServer, STATUS_CODES, type RequestListener, type Server } from 'node:http';
import type { Duplex } from 'node:stream';

/** How long a sender may take. */
export interface TimeLimits {
	/** From the first byte of a request to the end of its headers, ms. */
	readonly headersMs: number;
	/** From the first byte of a request to the last of its body, ms. */
	readonly requestMs: number;
	/** How often that is looked at, ms. */
	readonly checkEveryMs: number;
}

/** Headers are a few hundred bytes; the largest upload needs five minutes at two megabits a second. */
export const TIME_LIMITS: TimeLimits = {
	headersMs: 20_000,
	requestMs: 300_000,
	checkEveryMs: 5_000
};

/**
 * A server that lets nobody hold a connection by sending slowly. Whoever takes too long, or sends what is no
 * HTTP, is told so in words and the connection ends; a request that was cut is never acted on, since forms
 * and files are read whole first.
 */
export function limitedServer(listener: RequestListener, limits: TimeLimits = TIME_LIMITS): Server {
	const server = createServer(
		{
			headersTimeout: limits.headersMs,
			requestTimeout: limits.requestMs,
			connectionsCheckingInterval: limits.checkEveryMs
		},
		listener
	);
	server.on('clientError', (error: NodeJS.ErrnoException, socket) => refuse(error, socket));
	return server;
}

const SLOW: [number, string] = [
	408,
	'Sending took too long, so nothing was kept. Look at the connection and send it again, or send less at once.'
];
const LARGE_HEAD: [number, string] = [431, 'The address or the headers are too long.'];
const NO_HTTP: [number, string] = [400, 'What was sent is no HTTP request.'];

function refuse({ code }: NodeJS.ErrnoException, socket: Duplex): void {
	if (code === 'ECONNRESET' || !socket.writable) return;
	const [status, words] =
		code === 'ERR_HTTP_REQUEST_TIMEOUT'
			? SLOW
			: code === 'HPE_HEADER_OVERFLOW'
				? LARGE_HEAD
				: NO_HTTP;
	const head = [
		`HTTP/1.1 ${status} ${STATUS_CODES[status]}`,
		'content-type: text/plain; charset=utf-8',
		`content-length: ${Buffer.byteLength(words)}`,
		'connection: close'
	];
	socket.end(`${head.join('\r\n')}\r\n\r\n${words}`);
}
