import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { seededChance } from '#lib/domain/stats/chance.ts';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { recordInvoice } from '#lib/server/commands/recordInvoice.ts';
import { recordMovement } from '#lib/server/commands/recordMovement.ts';
import { recordPriceTerms } from '#lib/server/commands/recordPriceTerms.ts';
import { recordRecovery } from '#lib/server/commands/recordRecovery.ts';
import { recordTestRoast } from '#lib/server/commands/recordTestRoast.ts';
import { saveCostRate } from '#lib/server/commands/saveCostRate.ts';
import { openDatabase, type Database } from '#lib/server/db/client.ts';
import { loadLotRecords } from '#lib/server/store/lotRecords.ts';
import { requireSite } from '#lib/server/store/site.ts';
import { loadLotCosts } from '#lib/server/views/costing.ts';
import { loadLotValues } from '#lib/server/views/greenValue.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { done, lotInput, RATE, SETTINGS, setUpRoastery } from '#support/smallRoastery.ts';

/**
 * What is kept of lots from page to page is, after every act of a random history, what another connection
 * works out from all records; and its stock is worth what the ledger says movement by movement.
 */

const NOW = Date.UTC(2026, 10, 2, 9);
const DAY = 86_400_000;
const SEED = 20261125;

let db: TestDatabase;
let other: Database;
let act: Act;
let ids: { roasterId: number; productId: number };
const lots: number[] = [];
const roasted: number[] = [];
let clock = NOW - 60 * DAY;

beforeAll(async () => {
	db = await newDatabase();
	other = await openDatabase({ url: db.url });
	act = { database: db.database, now: NOW, actor: owner('Priya') };
	ids = await setUpRoastery(act);
});
afterAll(async () => {
	await other.close();
	await db.remove();
});

const terms = (lotId: number, priceE4: number) => ({
	...{ lotId, agreedOn: '2026-09-01', basis: 'outright' as const, priceE4, differentialE4: 0 },
	...{ per: 'kg' as const, currency: 'GBP', fxE6: null, fxOn: '2026-09-01' },
	...{ incoterm: 'CFR' as const, freightMinor: 0, insurancePpm: 0, dutyPpm: 0, portMinor: 0 },
	...{ warehouseMinor: 0, financeDays: 0, financeRatePpm: 0 }
});

/** One act after another; what the records refuse is left out, as a person would. */
async function anyAct(pick: (most: number) => number): Promise<void> {
	clock += pick(12) * 3_600_000;
	const lotId = lots[pick(lots.length)]!;
	const kind = lots.length === 0 ? 0 : pick(9);
	if (kind === 0) {
		const made = done(
			await perform(act, (deed) => createLot(deed, lotInput(`L-${lots.length + 1}`)))
		);
		lots.push(made.lotId);
	} else if (kind === 1)
		await perform(act, (deed) => recordPriceTerms(deed, terms(lotId, 50_000 + pick(40_000))));
	else if (kind === 2)
		await perform(act, (deed) =>
			recordMovement(deed, lotId, {
				...{ at: clock, kind: 'received', massG: 60_000 + pick(60_000), reason: 'weighed' }
			})
		);
	else if (kind === 3)
		await perform(act, (deed) =>
			recordMovement(deed, lotId, {
				...{ at: clock, kind: 'sold green', massG: -1_000 - pick(9_000), reason: 'sold' }
			})
		);
	else if (kind === 4)
		await perform(act, (deed) =>
			recordInvoice(deed, {
				...{ lotId, day: '2026-10-20', kind: 'port', number: `N-${clock}-${pick(1e6)}` },
				...{ amountMinor: 1 + pick(90_000), currency: 'GBP', fxE6: null, note: '' }
			})
		);
	else if (kind <= 6) await test(lotId, 4_000 + pick(8_000));
	else if (kind === 7 && roasted.length > 0)
		await perform(act, (deed) =>
			recordRecovery(deed, {
				...{ testBatchId: roasted[pick(roasted.length)]!, at: clock, kind: 'blended off' },
				...{ massG: 1 + pick(900), valueMinor: pick(900), productId: ids.productId }
			})
		);
	else if (kind === 8 && pick(4) === 0)
		await perform(act, (deed) =>
			saveCostRate(deed, {
				...{ ...RATE, roasterId: ids.roasterId, fromDay: `2026-10-${10 + pick(20)}` },
				labourMinorPerHour: 1_000 + pick(1_000)
			})
		);
}

async function test(lotId: number, chargeG: number): Promise<void> {
	const planned = await perform(act, (deed) =>
		planTest(deed, {
			...{ lotId, plannedAt: clock, purpose: 'First', change: '', roasterId: ids.roasterId },
			settings: SETTINGS
		})
	);
	if (!planned.ok) return;
	const { testBatchId } = planned.value as { testBatchId: number };
	const outG = Math.round(chargeG * 0.85);
	const made = await perform(act, (deed) =>
		recordTestRoast(deed, {
			...{ testBatchId, roastedAt: clock, chargeG, outG, note: '', file: null }
		})
	);
	if (made.ok) roasted.push(testBatchId);
}

describe('what is kept of lots', () => {
	it('is what all records come to, after every act', async () => {
		const next = seededChance(SEED);
		const pick = (most: number) => Math.floor(next() * most);
		for (let i = 0; i < 120; i += 1) {
			await anyAct(pick);
			const { orm } = db.database;
			const [records, costs] = [await loadLotRecords(orm), await loadLotCosts(orm)];
			if (i % 3 > 0) continue;
			// A transaction is another reader: nothing is kept for it.
			const [freshRecords, freshCosts, values] = await other.write(async (tx) => [
				await loadLotRecords(tx),
				await loadLotCosts(tx),
				await loadLotValues(tx, await requireSite(tx))
			]);
			expect([...records]).toEqual([...freshRecords]);
			expect([...costs]).toEqual([...freshCosts]);
			for (const [id, { landed, months }] of costs) {
				const { steps, landed: known } = values.get(id)!;
				expect(landed).toEqual(known);
				expect(months.at(-1)?.value).toEqual(steps.at(-1)?.value);
				expect(months.at(-1)?.onHandG).toBe(steps.at(-1)?.onHandG);
			}
		}
		expect(roasted.length).toBeGreaterThan(5);
		expect(lots.length).toBeGreaterThan(3);
	});

	it('is the same object as long as nothing is recorded', async () => {
		const { orm } = db.database;
		expect(await loadLotCosts(orm)).toBe(await loadLotCosts(orm));
		expect(await loadLotRecords(orm)).toBe(await loadLotRecords(orm));
	});
});
