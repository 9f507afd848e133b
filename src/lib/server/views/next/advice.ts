/** The next-test advice of a lot from its records and those of similar lots. */
import {
	adviseNext,
	type Advice,
	type AdviceTest,
	type SimilarChange
} from '#lib/domain/trial/advice.ts';
import type { Verdict } from '#lib/domain/lot/lot.ts';
import type { DrumReading } from '#lib/domain/drum/reading.ts';
import { settingChanges } from '#lib/domain/trial/settings.ts';
import type { Reader } from '../../db/client.ts';
import { loadDrumSettings } from '../../store/drum.ts';
import type { Roaster } from '../../store/site.ts';
import { loadTests, type TestRecord } from '../../store/tests.ts';
import { readBatch, type SettingsOfRoasters } from '../drum.ts';
import { scoredOf } from '../tests.ts';
import { similarLots } from './heat.ts';
import type { MadePlan } from './plan.ts';

/** Similar lots whose tests are looked through for changes that worked. */
const MOST_LOTS = 5;

/** One change, or why there is none to propose. */
export async function adviceFor(
	db: Reader,
	lotId: number,
	tests: readonly TestRecord[],
	roasters: readonly Roaster[],
	made: MadePlan | null
): Promise<Advice | { readonly nothing: string }> {
	const last = tests.at(-1);
	const roaster = roasters.find(({ id }) => id === last?.batch.roasterId);
	const settings = await loadDrumSettings(db);
	const own = await Promise.all(tests.map((test) => adviceTest(db, test, settings)));
	const hasFault = (own.at(-1)?.reading?.faults.length ?? 0) > 0;
	return adviseNext({
		tests: own,
		similar: hasFault ? await similarChanges(db, lotId, settings) : [],
		plan:
			made?.own && made.own.test.batch.id === last?.batch.id
				? {
						settings: made.settings,
						referenceLot: made.reference.lot.code,
						missedC: made.own.missedC,
						expectedC: made.plan.expectedC.proposed
					}
				: null,
		limits: {
			gasMinPct: roaster?.gasMinPct ?? 0,
			gasMaxPct: roaster?.gasMaxPct ?? 100,
			gasStepPct: roaster?.gasStepPct ?? 1
		}
	});
}

async function readingOf(
	db: Reader,
	{ batch, roast }: TestRecord,
	settings: SettingsOfRoasters
): Promise<DrumReading | null> {
	if (!roast) return null;
	const read = await readBatch(db, { ...roast, roasterId: batch.roasterId }, settings);
	return read?.ok ? read.value : null;
}

async function adviceTest(
	db: Reader,
	test: TestRecord,
	settings: SettingsOfRoasters
): Promise<AdviceTest> {
	const cupping = test.cuppings.at(-1);
	return {
		number: test.batch.number,
		settings: test.batch.settings,
		roasted: test.roast !== null,
		reading: await readingOf(db, test, settings),
		verdict: verdictOf(test),
		reason: test.verdict?.reason ?? '',
		score: cupping ? scoredOf(cupping.sheet, cupping.by).score : null,
		descriptors: cupping?.descriptors ?? ''
	};
}

function verdictOf({ verdict }: TestRecord): Verdict | null {
	return (verdict?.verdict ?? null) as Verdict | null;
}

/** Single changes between consecutive tests of the most similar lots, and the faults that went with them. */
async function similarChanges(
	db: Reader,
	lotId: number,
	settings: SettingsOfRoasters
): Promise<SimilarChange[]> {
	const found: SimilarChange[] = [];
	for (const id of (await similarLots(db, lotId)).slice(0, MOST_LOTS)) {
		const tests = await loadTests(db, { lotId: id });
		for (const [i, after] of tests.entries()) {
			const before = tests[i - 1];
			if (!before || settingChanges(before.batch.settings, after.batch.settings).length !== 1)
				continue;
			const [was, is] = [
				await readingOf(db, before, settings),
				await readingOf(db, after, settings)
			];
			if (!was || !is) continue;
			const left = new Set(is.faults.map(({ name }) => name));
			const faultsGone = was.faults.map(({ name }) => name).filter((name) => !left.has(name));
			found.push({
				lotCode: after.lotCode,
				fromNumber: before.batch.number,
				toNumber: after.batch.number,
				before: before.batch.settings,
				after: after.batch.settings,
				faultsGone,
				verdictAfter: verdictOf(after)
			});
		}
	}
	return found;
}
