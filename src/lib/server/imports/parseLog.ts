import type { RoastLog } from '#lib/domain/curve/log.ts';
import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { LogMapping } from './mapping.ts';
import { readLog } from './readLog.ts';

/** A log file that was understood: its bytes, how they were read and what came out. */
export interface LogInput {
	readonly fileName: string;
	readonly bytes: Uint8Array;
	readonly mapping: LogMapping;
	readonly log: RoastLog;
	readonly notes: readonly string[];
}

/** Reads a file by a mapping into what the acts take; problems name file, row and column. */
export function logInput(
	fileName: string,
	bytes: Uint8Array,
	mapping: LogMapping
): Outcome<LogInput> {
	const parsed = readLog(bytes, mapping, fileName);
	if (!parsed.ok) return parsed;
	return good({ fileName, bytes, mapping, log: parsed.value.log, notes: parsed.value.notes });
}
