/**
 * What an act changed of a record, for its audit line: the fields that differ, as they were and as they
 * are; every field of a record that was not there before.
 * @param after only the fields that the act sets
 */
export function changes(
	before: Readonly<Record<string, unknown>> | null | undefined,
	after: Readonly<Record<string, unknown>>
): { readonly before?: Record<string, unknown>; readonly after: Record<string, unknown> } {
	if (!before) return { after: { ...after } };
	const keys = Object.keys(after).filter((key) => !isSame(before[key], after[key]));
	const only = (record: Readonly<Record<string, unknown>>) =>
		Object.fromEntries(keys.map((key) => [key, record[key]]));
	return { before: only(before), after: only(after) };
}

function isSame(a: unknown, b: unknown): boolean {
	return (a ?? null) === (b ?? null) || JSON.stringify(a) === JSON.stringify(b);
}
