import { perform, type Act } from '#lib/server/commands/act.ts';
import { giveVerdict } from '#lib/server/commands/giveVerdict.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { recordCupping } from '#lib/server/commands/recordCupping.ts';
import { recordTestRoast } from '#lib/server/commands/recordTestRoast.ts';
import { releaseLot } from '#lib/server/commands/releaseLot.ts';
import { saveBlend } from '#lib/server/commands/saveBlend.ts';
import { saveDemand } from '#lib/server/commands/saveDemand.ts';
import { saveProduct } from '#lib/server/commands/saveProduct.ts';
import { arrivedLot, CUPPED, done, PRODUCT, SETTINGS } from './smallRoastery.ts';

const HOUR = 3_600_000;

/** A lot tested once and released five days before; 110 kg of it are left. */
export async function releasedLot(act: Act, code: string, roasterId: number): Promise<number> {
	const then = { ...act, now: act.now - 120 * HOUR };
	const at = (hours: number) => then.now + hours * HOUR;
	const lotId = await arrivedLot(then, code);
	const facts = { lotId, roasterId, plannedAt: then.now, purpose: 'First batch', change: '' };
	const { testBatchId } = done(
		await perform(then, (deed) => planTest(deed, { ...facts, settings: SETTINGS }))
	);
	const roast = { testBatchId, roastedAt: then.now, chargeG: 10_000, outG: 8_550, note: '' };
	done(await perform(then, (deed) => recordTestRoast(deed, { ...roast, file: null })));
	const cupping = { testBatchId, cuppedAt: at(24), sheet: CUPPED, descriptors: 'plum', note: '' };
	done(await perform(then, (deed) => recordCupping(deed, cupping)));
	const verdict = { testBatchId, at: at(25), verdict: 'approve', reason: 'Sweet' } as const;
	done(await perform(then, (deed) => giveVerdict(deed, verdict)));
	const release = { lotId, at: at(26), roastingBy: 'Owen', qualityBy: 'Ana', descriptors: 'plum' };
	done(await perform(then, (deed) => releaseLot(deed, { ...release, priceMinorPerKg: 2_000 })));
	return lotId;
}

/** A product made of one lot alone, with an order of 20 kg roasted in each of these weeks. */
export async function orderedFrom(
	act: Act,
	lotId: number,
	weeks: readonly string[]
): Promise<number> {
	const { productId } = done(
		await perform(act, (deed) => saveProduct(deed, { ...PRODUCT, code: 'TWO', name: 'Two' }))
	);
	const parts = [{ lotId, sharePermille: 1000 }];
	done(await perform(act, (deed) => saveBlend(deed, { productId, fromDay: '2026-11-01', parts })));
	for (const week of weeks)
		done(await perform(act, (deed) => saveDemand(deed, { productId, week, roastedG: 20_000 })));
	return productId;
}
