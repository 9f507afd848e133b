import type { Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Database, Tx } from '../db/client.ts';
import { audit } from '../db/schema.ts';

/**
 * An act is one verb done by one person at one moment. Rules:
 * 1. Everything an act writes, its audit line included, is one transaction.
 * 2. An act that refuses (a bad outcome) writes nothing.
 * 3. The clock is read once, by the caller.
 */
export interface Act {
	readonly database: Database;
	readonly now: InstantMs;
	/** Who acts. */
	readonly by: string;
}

/** An act inside its transaction. */
export interface Deed {
	readonly tx: Tx;
	readonly now: InstantMs;
	readonly by: string;
}

class Refusal extends Error {
	readonly outcome: Outcome<never>;
	constructor(outcome: Outcome<never>) {
		super('refused');
		this.outcome = outcome;
	}
}

/** Runs `work` in one transaction; a bad outcome rolls everything back and is returned. */
export async function perform<T>(
	act: Act,
	work: (deed: Deed) => Promise<Outcome<T>>
): Promise<Outcome<T>> {
	try {
		return await act.database.write(async (tx) => {
			const outcome = await work({ tx, now: act.now, by: act.by });
			if (!outcome.ok) throw new Refusal(outcome);
			return outcome;
		});
	} catch (error) {
		if (error instanceof Refusal) return error.outcome;
		throw error;
	}
}

/** Writes the audit line of a deed. `detail` holds what was recorded, for a person to read later. */
export async function note(
	deed: Deed,
	act: string,
	lotId: number | null,
	detail: Record<string, unknown>
): Promise<void> {
	await deed.tx.insert(audit).values({ at: deed.now, by: deed.by, act, lotId, detail });
}
