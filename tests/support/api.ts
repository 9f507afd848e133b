import type { Act } from '#lib/server/commands/act.ts';
import { answer, type Operation } from '#lib/server/api/operation.ts';
import { OPERATIONS } from '#lib/server/api/operations.ts';

export interface Called {
	readonly status: number;
	readonly type: string;
	readonly json: Record<string, unknown>;
	readonly bytes: Uint8Array;
}

/** Calls the interface for programs below /api/v1 without a server, as `act` would over HTTP. */
export async function callApi(
	act: Act,
	method: Operation['method'],
	address: string,
	body?: unknown
): Promise<Called> {
	const url = new URL(`/api/v1${address}`, 'http://localhost');
	const path = url.pathname.slice('/api/v1'.length);
	for (const op of OPERATIONS) {
		const params = op.method === method ? paramsOf(op.path, path) : null;
		if (!params) continue;
		const bytes = body instanceof Uint8Array ? new Uint8Array(body) : JSON.stringify(body);
		const init = body === undefined ? { method } : { method, body: bytes };
		const response = await answer(op)({
			locals: act,
			params,
			url,
			request: new Request(url, init)
		});
		const answered = new Uint8Array(await response.arrayBuffer());
		const type = response.headers.get('content-type') ?? '';
		const json = /json/.test(type)
			? (JSON.parse(Buffer.from(answered).toString()) as Called['json'])
			: {};
		return { status: response.status, type, json, bytes: answered };
	}
	throw new Error(`No operation answers ${method} ${path}.`);
}

function paramsOf(template: string, path: string): Record<string, string> | null {
	const names: string[] = [];
	const pattern = template.replace(/\{(\w+)\}/g, (_, name: string) => {
		names.push(name);
		return '([^/]+)';
	});
	const match = new RegExp(`^${pattern}$`).exec(path);
	if (!match) return null;
	return Object.fromEntries(names.map((name, i) => [name, decodeURIComponent(match[i + 1]!)]));
}
