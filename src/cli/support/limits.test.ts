import { once } from 'node:events';
import type { RequestListener } from 'node:http';
import { connect, type AddressInfo } from 'node:net';
import { text } from 'node:stream/consumers';
import { afterAll, expect, test } from 'vitest';
import { limitedServer } from './limits.ts';

/** Senders that never end; the limits are made short, so nothing is waited for. */
const SHORT = { headersMs: 40, requestMs: 60, checkEveryMs: 10 };

const bodies: string[] = [];
const listener: RequestListener = (request, response) => {
	// A form is read whole before anything is done with it.
	text(request).then(
		(body) => {
			bodies.push(body);
			response.end('taken');
		},
		() => undefined
	);
};
const [hurried, patient] = [limitedServer(listener, SHORT), limitedServer(listener)];
afterAll(() => [hurried, patient].forEach((server) => server.close()));

/** Everything the server says to someone who sends `first` and then a byte now and then. */
async function answerTo(first: string, drip: string, server = hurried): Promise<string> {
	if (!server.listening) await once(server.listen(0, '127.0.0.1'), 'listening');
	const socket = connect((server.address() as AddressInfo).port, '127.0.0.1');
	socket.on('error', () => undefined);
	socket.write(first);
	const dripping = setInterval(() => drip && socket.writable && socket.write(drip), 5);
	const said = await text(socket);
	clearInterval(dripping);
	return said;
}

test('slow bodies, slow headers and no HTTP at all are answered in words; nothing of them is kept', async () => {
	const post = 'POST /intake HTTP/1.1\r\nhost: localhost\r\ncontent-length: 1000000\r\n';
	for (const [first, drip] of [
		[`${post}\r\nfile=`, 'x'],
		[`${post}\r\nfile=`, ''],
		[post, 'x-more: y\r\n'],
		['POST /intake HTT', '']
	] as const) {
		const said = await answerTo(first, drip);
		expect(said).toMatch(/^HTTP\/1\.1 408 Request Timeout\r\n/);
		expect(said).toContain('Sending took too long, so nothing was kept.');
	}
	expect(await answerTo('nonsense\r\n\r\n', '')).toMatch(/^HTTP\/1\.1 400 [^]*no HTTP request\.$/);
	const long = `GET /${'x'.repeat(40_000)} HTTP/1.1\r\nhost: localhost\r\n\r\n`;
	expect(await answerTo(long, '')).toMatch(/^HTTP\/1\.1 431 [^]*too long\.$/);
	expect(bodies).toEqual([]);
	const whole =
		'POST / HTTP/1.1\r\nhost: localhost\r\ncontent-length: 2\r\nconnection: close\r\n\r\nab';
	expect(await answerTo(whole, '', patient)).toContain('taken');
	expect(bodies).toEqual(['ab']);
});
