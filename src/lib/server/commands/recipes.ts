import { eq, max } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import {
	recipeTarget,
	standardOf,
	standardProblems,
	type RecipeStandard
} from '#lib/domain/trial/recipe.ts';
import { recipe } from '../db/schema.ts';
import { loadDrumSettings, loadTestColours } from '../store/drum.ts';
import { loadRecipes, loadTests, type Recipe, type TestRecord } from '../store/tests.ts';
import { readBatch } from '../views/drum.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';
import { versionProblem, type SeenVersion } from './versions.ts';

/** Makes the next recipe version of a lot from a test that was just approved. */
export async function makeRecipe(
	deed: Deed,
	test: TestRecord,
	approvedAt: InstantMs
): Promise<number> {
	const roast = test.roast!;
	const colours = await loadTestColours(deed.tx);
	const standard = standardOf({
		reading: await readingOf(deed, test),
		chargeG: roast.chargeG,
		outG: roast.outG,
		colour: colours.get(test.batch.id) ?? null,
		descriptors: test.cuppings.at(-1)?.descriptors ?? ''
	});
	return insertVersion(deed, {
		lotId: test.batch.lotId,
		testBatchId: test.batch.id,
		roasterId: test.batch.roasterId,
		chargeG: roast.chargeG,
		settings: test.batch.settings,
		weightLossPpm: Math.round(((roast.chargeG - roast.outG) / roast.chargeG) * 1e6),
		standard,
		reason: `Test ${test.batch.number} approved`,
		approvedAt
	});
}

async function readingOf({ tx }: Deed, { batch, roast }: TestRecord) {
	const { chargeG, outG, logId } = roast!;
	const logged = { roasterId: batch.roasterId, chargeG, outG, logId };
	const read = await readBatch(tx, logged, await loadDrumSettings(tx));
	return read?.ok ? read.value : null;
}

async function insertVersion(
	deed: Deed,
	row: Omit<typeof recipe.$inferInsert, 'id' | 'version' | 'by'>
): Promise<number> {
	const last = await deed.tx
		.select({ version: max(recipe.version) })
		.from(recipe)
		.where(eq(recipe.lotId, row.lotId));
	const version = (last[0]?.version ?? 0) + 1;
	await deed.tx.insert(recipe).values({ ...row, version, by: deed.by });
	return version;
}

/** What a person can change of a recipe without a new test. */
export type StandardChange = Omit<RecipeStandard, 'target'>;

/**
 * Makes a new version of a lot's newest recipe with other tolerances, ranges, colour or descriptors. Charge
 * and settings stay: those change by an approved test. Problem paths are field names.
 */
export async function reviseRecipe(
	deed: Deed,
	input: { readonly lotId: number; readonly change: StandardChange; readonly reason: string },
	seen: SeenVersion = null
): Promise<Outcome<{ version: number }>> {
	const newest = (await loadRecipes(deed.tx, input.lotId))[0];
	if (!newest)
		return bad({ path: 'lot', message: 'No test of this lot is approved, so it has no recipe.' });
	const conflict = await versionProblem(deed, 'The recipe', seen, newest.version, {
		...{ name: newest.by, at: newest.approvedAt, what: newest.reason }
	});
	if (conflict) return bad({ ...conflict, path: 'version' });
	const problems: Problem[] = [...standardProblems(input.change)];
	if (input.reason.trim() === '') problems.push({ path: 'reason', message: 'Give the reason.' });
	if (problems.length > 0) return bad(...problems);
	const target = await targetOf(deed, newest);
	const version = await insertVersion(deed, {
		...sameRecipe(newest),
		standard: { ...input.change, target },
		reason: input.reason.trim(),
		approvedAt: deed.now
	});
	await note(deed, 'revise recipe', input.lotId, {
		...{ version, reason: input.reason.trim() },
		...changes({ ...newest.standard }, { ...input.change })
	});
	return good({ version });
}

/** The target a recipe has; one made before targets were kept takes that of its test's log. */
async function targetOf(deed: Deed, of: Recipe): Promise<RecipeStandard['target']> {
	if (of.standard?.target) return of.standard.target;
	const test = (await loadTests(deed.tx, { testBatchId: of.testBatchId }))[0];
	const reading = test?.roast ? await readingOf(deed, test) : null;
	return reading && recipeTarget(reading);
}

function sameRecipe(of: Recipe) {
	const { lotId, testBatchId, roasterId, chargeG, settings, weightLossPpm } = of;
	return { lotId, testBatchId, roasterId, chargeG, settings, weightLossPpm };
}

/** Gives the newest recipe of a lot, if it comes from this test and has no target, the test's log as one. */
export async function takeTarget(deed: Deed, testBatchId: number): Promise<void> {
	const test = (await loadTests(deed.tx, { testBatchId }))[0];
	if (!test?.roast) return;
	const newest = (await loadRecipes(deed.tx, test.batch.lotId))[0];
	if (newest?.testBatchId !== testBatchId || newest.standard?.target) return;
	const reading = await readingOf(deed, test);
	if (!reading) return;
	const { chargeG, outG } = test.roast;
	const bare = { reading: null, chargeG, outG, colour: null, descriptors: '' };
	const version = await insertVersion(deed, {
		...sameRecipe(newest),
		standard: { ...(newest.standard ?? standardOf(bare)), target: recipeTarget(reading) },
		reason: `Log of test ${test.batch.number} taken in afterwards`,
		approvedAt: deed.now
	});
	await note(deed, 'revise recipe', test.batch.lotId, { version, reason: 'log added' });
}
