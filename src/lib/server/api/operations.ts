import type { Operation } from './operation.ts';
import { READING } from './reading.ts';
import { SENDING } from './sending.ts';

/** Every call of version 1. */
export const OPERATIONS: readonly Operation[] = [...READING, ...SENDING];

/** The operation of an id. @throws Error when there is none: a mistake of ours */
export function operationOf(id: string): Operation {
	const found = OPERATIONS.find((op) => op.id === id);
	if (!found) throw new Error(`There is no operation ${id}.`);
	return found;
}
