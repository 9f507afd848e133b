/** Collects problems of one file and stops listing them after a while; the rest is counted. */
import type { Outcome, Problem } from '#lib/domain/quantity/problem.ts';

export const MAX_LISTED = 20;

export class ProblemList {
	readonly #fileName: string;
	readonly #max: number;
	readonly #listed: Problem[] = [];
	#count = 0;

	constructor(fileName: string, max: number = MAX_LISTED) {
		this.#fileName = fileName;
		this.#max = max;
	}

	get count(): number {
		return this.#count;
	}

	/** A problem of the whole file, or of the place named by `where`, e.g. `row 12, column 'RH'`. */
	add(where: string, message: string): void {
		this.#count++;
		if (this.#listed.length >= this.#max) return;
		const path = where ? `${this.#fileName}, ${where}` : this.#fileName;
		this.#listed.push({ path, message });
	}

	/** The listed problems, then one line for those not listed. */
	all(): Problem[] {
		const more = this.#count - this.#listed.length;
		if (more <= 0) return [...this.#listed];
		const message = `and ${more} more ${more === 1 ? 'problem' : 'problems'} like these`;
		return [...this.#listed, { path: this.#fileName, message }];
	}

	failed<T>(): Outcome<T> {
		return { ok: false, problems: this.all() };
	}
}

/** A cell's text in quotes for a message, cut when it is long; `nothing` when it is blank. */
export function foundText(cell: string): string {
	const text = cell.trim();
	if (text === '') return 'nothing';
	const line = text.replace(/\s+/g, ' ');
	return line.length > 40 ? `'${line.slice(0, 40)}...'` : `'${line}'`;
}
