import { json } from '@sveltejs/kit';
import { openApiDocument } from '#lib/server/api/openapi.ts';
import { OPERATIONS } from '#lib/server/api/operations.ts';
import type { RequestHandler } from './$types';

const DOCUMENT = openApiDocument(OPERATIONS);

/** What the interface for programs takes and answers, as OpenAPI 3.1. */
export const GET: RequestHandler = () => json(DOCUMENT);
