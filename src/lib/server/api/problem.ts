import { STATUS_CODES } from 'node:http';
import type { Outcome, Problem } from '#lib/domain/quantity/problem.ts';
import { PROBLEM } from './schemas.ts';

/** Problem details for HTTP (RFC 9457): what a program is told when it gets no answer. */

/** Thrown while a call is answered; becomes problem details. */
export class ApiProblem extends Error {
	readonly status: number;
	readonly errors: readonly Problem[];
	/** @param errors what is wrong with the input, by field */
	constructor(status: number, detail: string, errors: readonly Problem[] = []) {
		super(detail);
		this.status = status;
		this.errors = errors;
	}
}

/** Statuses of refusals, by the path that a command gives them; any other is 422. */
const STATUS_OF: Readonly<Record<string, number>> = {
	right: 403,
	id: 404,
	state: 409,
	size: 413
};

/** The value of an outcome. @throws ApiProblem when there is none */
export function orProblem<T>(outcome: Outcome<T>): T {
	if (outcome.ok) return outcome.value;
	const first = outcome.problems[0]!;
	const status = STATUS_OF[first.path] ?? 422;
	if (status === 422) throw new ApiProblem(422, 'Nothing was changed.', outcome.problems);
	throw new ApiProblem(status, first.message);
}

/** The answer that a problem becomes; its type is `about:blank`, so its title is that of the status. */
export function problemResponse({ status, message, errors }: ApiProblem): Response {
	const body = PROBLEM.parse({
		type: 'about:blank',
		title: STATUS_CODES[status] ?? 'Error',
		status,
		detail: message,
		...(errors.length > 0 ? { errors } : {})
	});
	return Response.json(body, { status, headers: { 'content-type': 'application/problem+json' } });
}
