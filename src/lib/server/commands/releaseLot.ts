import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { release } from '../db/schema.ts';
import { loadRecipes } from '../store/tests.ts';
import { note, type Deed } from './act.ts';
import { requireStage } from './standingOf.ts';

export interface ReleaseInput {
	readonly lotId: number;
	readonly at: InstantMs;
	/** Who signs for roasting, and who for quality. */
	readonly roastingBy: string;
	readonly qualityBy: string;
	readonly descriptors: string;
	/** Basis of the shelf price, minor units of the site's currency per roasted kg. */
	readonly priceMinorPerKg: number;
}

/** Releases a lot with its newest recipe: from here production batches may use it. */
export async function releaseLot(
	deed: Deed,
	input: ReleaseInput
): Promise<Outcome<{ releaseId: number }>> {
	const stage = await requireStage(deed, input.lotId, ['in review'], 'release');
	if (!stage.ok) return stage;
	const newest = (await loadRecipes(deed.tx, input.lotId))[0];
	const problems: Problem[] = [];
	if (!newest)
		problems.push({
			path: 'lot',
			message: 'No test of this lot is approved, so it has no recipe.'
		});
	for (const [path, name] of [
		['roasting_by', input.roastingBy],
		['quality_by', input.qualityBy]
	] as const)
		if (name.trim() === '') problems.push({ path, message: 'Expected a name: both sign.' });
	if (!(input.priceMinorPerKg > 0))
		problems.push({ path: 'price_per_kg', message: 'Expected a price above zero.' });
	if (problems.length > 0 || !newest) return bad(...problems);
	const rows = await deed.tx
		.insert(release)
		.values({ ...input, recipeId: newest.id, recordedAt: deed.now })
		.returning({ id: release.id });
	await note(deed, 'release lot', input.lotId, { recipeVersion: newest.version, ...input });
	return good({ releaseId: rows[0]!.id });
}
