import { answer } from '#lib/server/api/operation.ts';
import { operationOf } from '#lib/server/api/operations.ts';
import type { RequestHandler } from './$types';

export const GET: RequestHandler = answer(operationOf('getLiveLog'));
export const PUT: RequestHandler = answer(operationOf('startLiveLog'));
export const DELETE: RequestHandler = answer(operationOf('dropLiveLog'));
