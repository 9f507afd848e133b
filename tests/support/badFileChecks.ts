import { isDeepStrictEqual } from 'node:util';
import type { Outcome, Problem } from '#lib/domain/quantity/problem.ts';
import { sniffLog } from '#lib/server/imports/logFile.ts';
import { parseMapping } from '#lib/server/imports/mapping.ts';
import { readLog } from '#lib/server/imports/readLog.ts';
import { readTable } from '#lib/server/imports/tableFile.ts';
import { TABLES } from '#lib/server/imports/tables.ts';
import type { BadFile } from './badFiles.ts';

export interface Judged {
	readonly accepted: boolean;
	/** What broke a rule; empty when none. */
	readonly faults: readonly string[];
}

/** Longest message and most problems of one file that a person can still read. */
const LONGEST_MESSAGE = 2000;
const MOST_PROBLEMS = 21;

/**
 * Reads a file as intake and the tables page do, without a database. Rules: it never throws; a refusal says
 * why, in words of a bounded length; what is accepted is sound.
 */
export function judge(file: BadFile): Judged {
	try {
		return file.table === null ? judgeLog(file) : judgeTable(file);
	} catch (error) {
		return { accepted: false, faults: [`threw ${String(error)}`] };
	}
}

function judgeLog({ bytes, fileName }: BadFile): Judged {
	const preview = sniffLog(bytes, fileName);
	const faults = wordFaults(preview.problems);
	if (preview.mapping === null) {
		if (preview.problems.length === 0) faults.push('neither read nor refused');
		return { accepted: false, faults };
	}
	const read = readLog(bytes, preview.mapping, fileName);
	if (read.ok !== (preview.problems.length === 0))
		faults.push('the preview says something else than the reading');
	if (!read.ok) return { accepted: false, faults };
	const kept = parseMapping(JSON.stringify(preview.mapping));
	if (!kept.ok || !isDeepStrictEqual(kept.value, preview.mapping))
		faults.push('its mapping is another after being kept');
	const { timeS, channels, marks } = read.value.log;
	if (!timeS.every((t, i) => Number.isFinite(t) && t >= 0 && (i === 0 || t > timeS[i - 1]!)))
		faults.push('its times do not rise from zero');
	for (const [name, values] of Object.entries(channels)) {
		if (values.length !== timeS.length) faults.push(`${name} is not as long as its times`);
		if (values.some((value) => value === Infinity || value === -Infinity))
			faults.push(`${name} holds an infinite value`);
	}
	if (marks.some((mark) => !Number.isFinite(mark.timeS))) faults.push('a mark has no time');
	return { accepted: true, faults };
}

function judgeTable({ bytes, fileName, table }: BadFile): Judged {
	const read: Outcome<{ rows: readonly { value: unknown }[] }> = readTable(
		bytes,
		fileName,
		TABLES[table!] as never,
		{ siteCurrency: 'GBP' }
	);
	if (!read.ok) {
		const faults = wordFaults(read.problems);
		if (read.problems.length === 0) faults.push('refused without a word');
		return { accepted: false, faults };
	}
	const faults = read.value.rows.flatMap(({ value }) => unsound(value));
	return { accepted: true, faults };
}

/** Numbers that are none, at any depth. */
function unsound(value: unknown): string[] {
	if (typeof value === 'number' && !Number.isFinite(value)) return [`took ${value} for a number`];
	if (value === undefined) return ['took a blank for a value'];
	if (value === null || typeof value !== 'object') return [];
	return Object.values(value).flatMap(unsound);
}

function wordFaults(problems: readonly Problem[]): string[] {
	const faults: string[] = [];
	if (problems.length > MOST_PROBLEMS) faults.push(`${problems.length} problems at once`);
	for (const { path, message } of problems) {
		if (path === '' || message === '') faults.push('a problem without place or words');
		if (path.length + message.length > LONGEST_MESSAGE)
			faults.push(`a message of ${path.length + message.length} characters`);
	}
	return faults;
}
