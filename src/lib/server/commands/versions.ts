import type { Problem } from '#lib/domain/quantity/problem.ts';

/**
 * Rows that two people can edit carry a version. What a writer saw is
 * - `null`: nothing was looked at, the row is taken as it is (an import);
 * - 0: there was no such row, a new one is meant;
 * - otherwise the version that was shown.
 */
export type SeenVersion = number | null;

/**
 * Tells the second of two writers, or a newcomer that the code is taken.
 * @param existing the version now, 0 when there is no row
 */
export function versionProblem(what: string, seen: SeenVersion, existing: number): Problem | null {
	if (seen === null || seen === existing) return null;
	if (seen === 0) return { path: 'code', message: `${what} exists already.` };
	return {
		path: 'version',
		message: `${what} was changed by someone else while you were editing. Your input is kept, with what is stored now beside it; save again to replace it.`
	};
}
