import type { Problem } from '../quantity/problem.ts';

/** A problem of a reading with its weight: the share of the reading's sureness that it takes away. */
export interface Finding {
	readonly problem: Problem;
	readonly weight: number;
}

export function finding(path: string, message: string, weight: number): Finding {
	return { problem: { path, message }, weight };
}

/** The problems alone, worst first. */
export function worstFirst(findings: readonly Finding[]): Problem[] {
	return [...findings].sort((a, b) => b.weight - a.weight).map(({ problem }) => problem);
}

/** Sureness of a reading that nothing is wrong with: one sensor, once. */
const BEST_SURENESS = 0.95;

/** What the findings leave of the best sureness, 0 to 1. */
export function surenessAfter(findings: readonly Finding[]): number {
	return findings.reduce((left, { weight }) => left * (1 - weight), BEST_SURENESS);
}

/**
 * Rows of a log in words, `rows 12-40 and 55 (29 of 480)`; the first row is 1. At most three spans are
 * named.
 */
export function rowsText(rows: readonly number[], total: number): string {
	const spans: [number, number][] = [];
	for (const row of rows) {
		const last = spans.at(-1);
		if (last && row === last[1] + 1) last[1] = row;
		else spans.push([row, row]);
	}
	const named = spans
		.slice(0, 3)
		.map(([from, to]) => (from === to ? `${from + 1}` : `${from + 1}-${to + 1}`));
	if (spans.length > 3) named.push('others');
	const list = named.length > 1 ? `${named.slice(0, -1).join(', ')} and ${named.at(-1)}` : named[0];
	return `${rows.length === 1 ? 'row' : 'rows'} ${list} (${rows.length} of ${total})`;
}

/** A figure for a message: three significant digits. */
export function figure(value: number): string {
	return String(Number(value.toPrecision(3)));
}
