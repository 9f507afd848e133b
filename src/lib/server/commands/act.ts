import { actorMay, actRefusal, type ActName } from '#lib/domain/access/rights.ts';
import type { Actor } from '#lib/domain/access/role.ts';
import { bad, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Database, Tx } from '../db/client.ts';
import { audit } from '../db/schema.ts';
import { databaseTrouble } from '../db/trouble.ts';

/**
 * An act is one verb done by one person at one moment. Rules:
 * 1. Everything an act writes, its audit line included, is one transaction.
 * 2. An act that refuses (a bad outcome) writes nothing.
 * 3. The clock is read once, by the caller.
 * 4. Every act is noted under its name, and noting asks for the right: what the actor's role may not do is
 *    refused here and nowhere else, and rule 2 holds for that refusal too.
 * 5. A disk that takes nothing more, or a database server that is gone, is a refusal too, in words.
 */
export interface Act {
	readonly database: Database;
	readonly now: InstantMs;
	readonly actor: Actor;
}

/** An act inside its transaction. */
export interface Deed {
	readonly tx: Tx;
	readonly now: InstantMs;
	readonly actor: Actor;
	/** The name that the record bears: the actor's, or the one in a file that is taken in. */
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
			const { now, actor } = act;
			const outcome = await work({ tx, now, actor, by: actor.name });
			if (!outcome.ok) throw new Refusal(outcome);
			return outcome;
		});
	} catch (error) {
		if (error instanceof Refusal) return error.outcome;
		const trouble = databaseTrouble(error);
		if (trouble === null) throw error;
		console.error(error);
		return bad(trouble);
	}
}

/**
 * Writes the audit line of a deed, if its actor has the right to it (rule 4). `detail` holds what was
 * recorded, for a person to read later.
 */
export async function note(
	deed: Deed,
	act: ActName,
	lotId: number | null,
	detail: Record<string, unknown>
): Promise<void> {
	if (!actorMay(deed.actor, act))
		throw new Refusal(bad({ path: 'right', message: actRefusal(deed.actor, act) }));
	const { userId, name } = deed.actor;
	const who = { by: deed.by, userId, actor: name };
	await deed.tx.insert(audit).values({ at: deed.now, ...who, act, lotId, detail });
}
