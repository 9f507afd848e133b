/**
 * An expected failure as a value: where it is, what was found and what was expected. Broken
 * invariants throw instead.
 */
export interface Problem {
	/** Field, column or record the problem is about, e.g. `row 12, moisture_pct`. */
	readonly path: string;
	/** One sentence for a person: what was found and what was expected. */
	readonly message: string;
}

/** Either a value or the list of everything that is wrong with the input. */
export type Outcome<T> =
	| { readonly ok: true; readonly value: T }
	| { readonly ok: false; readonly problems: readonly Problem[] };

/** A successful outcome. */
export function good<T>(value: T): Outcome<T> {
	return { ok: true, value };
}

/** A failed outcome with at least one problem. */
export function bad<T = never>(...problems: readonly Problem[]): Outcome<T> {
	return { ok: false, problems };
}
