import { z } from 'zod';
import type { Operation } from './operation.ts';
import { CALLS_A_MINUTE, LIVE_CALLS_A_MINUTE } from './rate.ts';
import { PROBLEM } from './schemas.ts';

type Json = Record<string, unknown>;

/** The OpenAPI 3.1 document of operations, made from the schemas that check them. */
export function openApiDocument(operations: readonly Operation[]): Json {
	const schemas: Json = {};
	const problem = asJson(PROBLEM, 'output', schemas);
	schemas['Problem'] = problem;
	const paths: Record<string, Json> = {};
	for (const op of operations)
		(paths[op.path] ??= {})[op.method.toLowerCase()] = operationObject(op, schemas);
	return {
		openapi: '3.1.0',
		info: {
			title: 'Trierbook',
			version: '1.0.0',
			description:
				'Lots, samples, tests, slots and costs of a roastery, and logs sent while a roast runs. Masses are grams, money is minor units, instants are UTC.'
		},
		servers: [{ url: '/api/v1' }],
		security: [{ token: [] }],
		paths,
		components: {
			securitySchemes: {
				token: {
					type: 'http',
					scheme: 'bearer',
					description: 'Made on the page /me; its scope and its owner’s role say what it may do.'
				}
			},
			schemas
		}
	};
}

function operationObject(op: Operation, schemas: Json): Json {
	const parameters = [
		...parametersOf(op.params, 'path', schemas),
		...parametersOf(op.query, 'query', schemas)
	];
	const body = requestBody(op, schemas);
	const refusals = [400, 401, 403, 429, ...op.refusals].sort();
	return {
		operationId: op.id,
		summary: op.summary,
		...(parameters.length > 0 ? { parameters } : {}),
		...(body ? { requestBody: body } : {}),
		responses: {
			...success(op, schemas),
			...Object.fromEntries(
				refusals.map((status) => [String(status), status === 429 ? TOO_MANY : REFUSED])
			)
		}
	};
}

const REFUSED = {
	description: 'Refused; nothing was changed.',
	content: { 'application/problem+json': { schema: { $ref: '#/components/schemas/Problem' } } }
};

const TOO_MANY = {
	...REFUSED,
	description: `More than ${CALLS_A_MINUTE} calls in a minute, or ${LIVE_CALLS_A_MINUTE} of logs being sent; nothing was changed.`,
	headers: {
		'Retry-After': { description: 'Seconds to wait.', schema: { type: 'integer', minimum: 1 } }
	}
};

function success({ answer }: Operation, schemas: Json): Json {
	if (answer === null) return { '204': { description: 'Done.' } };
	const content =
		answer === 'file'
			? { 'application/octet-stream': {} }
			: { 'application/json': { schema: asJson(answer, 'output', schemas) } };
	return { '200': { description: 'Found, or done.', content } };
}

function requestBody({ body }: Operation, schemas: Json): Json | null {
	if (body === null) return null;
	const content =
		body === 'bytes'
			? { 'application/octet-stream': {} }
			: { 'application/json': { schema: asJson(body, 'input', schemas) } };
	return { required: true, content };
}

function parametersOf(schema: z.ZodObject, where: 'path' | 'query', schemas: Json): Json[] {
	const { properties = {} } = asJson(schema, 'input', schemas) as {
		properties?: Record<string, Json>;
	};
	return Object.entries(properties).map(([name, { description, ...rest }]) => ({
		name,
		in: where,
		required: where === 'path' || !schema.shape[name]!.safeParse(undefined).success,
		...(description === undefined ? {} : { description }),
		schema: rest
	}));
}

/** JSON Schema of a schema; the named ones within it go to `schemas`. */
function asJson(schema: z.ZodType, io: 'input' | 'output', schemas: Json): Json {
	const { $schema: _, $defs = {}, id: _id, ...rest } = z.toJSONSchema(schema, { io }) as Json;
	for (const [name, value] of Object.entries($defs as Json)) {
		const { id: _named, ...named } = value as Json;
		schemas[name] = withRefs(named);
	}
	return withRefs(rest);
}

function withRefs(schema: Json): Json {
	const text = JSON.stringify(schema).replaceAll('"#/$defs/', '"#/components/schemas/');
	return JSON.parse(text) as Json;
}
