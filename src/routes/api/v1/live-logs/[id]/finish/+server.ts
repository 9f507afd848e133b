import { answer } from '#lib/server/api/operation.ts';
import { operationOf } from '#lib/server/api/operations.ts';
import type { RequestHandler } from './$types';

export const POST: RequestHandler = answer(operationOf('finishLiveLog'));
