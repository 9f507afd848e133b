import type { Stage, Standing } from '#lib/domain/lot/lot.ts';
import { standing } from '#lib/domain/lot/standing.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { loadLotEvents } from '../store/lots.ts';
import type { Deed } from './act.ts';

/**
 * Refuses an act on a lot whose stage does not allow it, naming the stage and the record it comes from.
 * @param verb what the act would do, as in "plan a test"
 */
export async function requireStage(
	deed: Deed,
	lotId: number,
	allowed: readonly Stage[],
	verb: string
): Promise<Outcome<Standing>> {
	const events = (await loadLotEvents(deed.tx, lotId)).get(lotId);
	if (!events) return bad({ path: 'lot', message: 'There is no such lot.' });
	const now = standing(events);
	if (allowed.includes(now.stage)) return good(now);
	return bad({
		path: 'lot',
		message: `Can't ${verb}: the lot is ${now.stage} (${now.because}). Expected ${allowed.join(' or ')}.`
	});
}
