/** What the server writes of each request: one line of JSON, for a program to read. */
export interface Answered {
	/** UTC milliseconds. */
	readonly at: number;
	readonly method: string;
	/** The pattern of the address, never the address: that may hold a secret or a name. Null: no such page. */
	readonly route: string | null;
	readonly status: number;
	/** Milliseconds from the request to the answer. */
	readonly ms: number;
	/** Account that asked; null for a stranger. */
	readonly userId: number | null;
}

/** `{"at":"2026-11-25T09:00:00.000Z","method":"GET","route":"/lots/[code]","status":200,"ms":12.3,"userId":1}` */
export function requestLine({ at, method, route, status, ms, userId }: Answered): string {
	return JSON.stringify({
		at: new Date(at).toISOString(),
		...{ method, route, status },
		ms: Math.round(ms * 10) / 10,
		userId
	});
}

/** The line of an error that nobody foresaw, with what is needed to find it. */
export function errorLine(at: number, route: string | null, error: unknown): string {
	const { message, stack } =
		error instanceof Error ? error : { message: String(error), stack: undefined };
	return JSON.stringify({ at: new Date(at).toISOString(), route, error: message, stack });
}
