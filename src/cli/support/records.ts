import type { Outcome, Problem } from '#lib/domain/quantity/problem.ts';

/** Ends the command with 1 after saying what is wrong. */
export function refuse(problems: readonly Problem[]): never {
	for (const { message } of problems) console.error(message);
	process.exit(1);
}

/** The value of an outcome; ends the command when there is none. */
export function orRefuse<T>(outcome: Outcome<T>): T {
	return outcome.ok ? outcome.value : refuse(outcome.problems);
}

/** The one argument of a command, or the way to use it and 2. */
export function oneArgument(usage: string): string {
	const [, , first, ...more] = process.argv;
	if (first !== undefined && more.length === 0) return first;
	console.error(`usage: ${usage}`);
	process.exit(2);
}

/** `11,204 records in 34 tables`. */
export function recordsText(rows: Readonly<Record<string, number>>): string {
	const counts = Object.values(rows);
	const sum = counts.reduce((total, each) => total + each, 0);
	return `${sum.toLocaleString('en-GB')} records in ${counts.length} tables`;
}

/** The newest act, for a person to know the copy by. */
export function actText(newest: { at: number; by: string; act: string } | null): string {
	if (!newest) return 'no act yet';
	return `newest act: ${newest.act} by ${newest.by}, ${new Date(newest.at).toISOString()}`;
}
