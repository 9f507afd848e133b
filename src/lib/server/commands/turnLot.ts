import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { lotTurn } from '../db/schema.ts';
import { note, type Deed } from './act.ts';
import { requireStage } from './standingOf.ts';

export interface TurnInput {
	readonly lotId: number;
	readonly at: InstantMs;
	readonly turn: 'reopened' | 'rejected';
	readonly reason: string;
}

const ALLOWED = {
	reopened: ['released'],
	rejected: ['expected', 'arrived', 'sample roasted', 'queued for test', 'in test', 'in review']
} as const;

/** Sends a released lot back to test, or rejects a lot that is not released. */
export async function turnLot(deed: Deed, input: TurnInput): Promise<Outcome<{ lotId: number }>> {
	const verb = input.turn === 'reopened' ? 're-open' : 'reject';
	const stage = await requireStage(deed, input.lotId, ALLOWED[input.turn], verb);
	if (!stage.ok) return stage;
	if (input.reason.trim() === '') return bad({ path: 'reason', message: 'Give the reason.' });
	await deed.tx.insert(lotTurn).values({ ...input, by: deed.by, recordedAt: deed.now });
	await note(deed, `${verb} lot`, input.lotId, { reason: input.reason });
	return good({ lotId: input.lotId });
}
