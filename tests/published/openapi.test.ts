import { Validator } from '@seriousme/openapi-schema-validator';
import { expect, it } from 'vitest';
import { openApiDocument } from '#lib/server/api/openapi.ts';
import { OPERATIONS } from '#lib/server/api/operations.ts';

/**
 * The document of the interface for programs against the schema of the OpenAPI Specification 3.1
 * (spec.openapis.org/oas/3.1/schema, as the package brings it; ran).
 */
const document = () => structuredClone(openApiDocument(OPERATIONS));

it('the document is one of OpenAPI 3.1', async () => {
	const validator = new Validator();
	expect(await validator.validate(document())).toEqual({ valid: true });
	expect(validator.version).toBe('3.1');
	expect(validator.resolveRefs()).toBeTruthy();
});

it.each([
	['no version of its own', (it: Record<string, unknown>) => delete it['info']],
	['a path without a slash', (it: Record<string, unknown>) => (it['paths'] = { lots: {} })],
	['a made-up field', (it: Record<string, unknown>) => (it['madeUp'] = true)]
])('one with %s is not', async (_, spoil) => {
	const spoiled = document();
	spoil(spoiled);
	expect(await new Validator().validate(spoiled)).toMatchObject({ valid: false });
});
