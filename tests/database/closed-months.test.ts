import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { closePeriod } from '#lib/server/commands/closePeriod.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { readMeters } from '#lib/server/commands/readMeters.ts';
import { recordInvoice } from '#lib/server/commands/recordInvoice.ts';
import { recordMovement } from '#lib/server/commands/recordMovement.ts';
import { recordPriceTerms } from '#lib/server/commands/recordPriceTerms.ts';
import { recordRecovery } from '#lib/server/commands/recordRecovery.ts';
import { recordTestRoast } from '#lib/server/commands/recordTestRoast.ts';
import { saveCostRate } from '#lib/server/commands/saveCostRate.ts';
import { saveRoaster } from '#lib/server/commands/saveRoaster.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { csvText } from '#lib/server/documents/csv.ts';
import { CUTS, loadCostedTests, loadStatement, NO_FILTER } from '#lib/server/views/cost.ts';
import { journalTable, statementTable } from '#lib/server/views/export/statement.ts';
import { loadJournal } from '#lib/server/views/journal.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { done, lotInput, RATE, ROASTER, SETTINGS, setUpRoastery } from '#support/smallRoastery.ts';

/**
 * A closed month's statement and journal stay as they were closed, to the byte, whatever is recorded late;
 * it all counts in the first open month, and nothing is lost.
 */

/** Monday 2 November 2026, 09:00 in London. */
const NOW = Date.UTC(2026, 10, 2, 9);
const at = (month: number, day: number) => Date.UTC(2026, month - 1, day, 9);

let db: TestDatabase;
let act: Act;
let lotId: number;
let roasterId: number;
let productId: number;

async function tested(roastedAt: number): Promise<number> {
	const planned = done(
		await perform(act, (deed) =>
			planTest(deed, {
				...{ lotId, plannedAt: roastedAt - 1, purpose: 'First', change: '', roasterId },
				settings: SETTINGS
			})
		)
	) as { testBatchId: number };
	const { testBatchId } = planned;
	done(
		await perform(act, (deed) =>
			recordTestRoast(deed, {
				...{ testBatchId, roastedAt, chargeG: 10_000, outG: 8_500, note: '', file: null }
			})
		)
	);
	return testBatchId;
}

const recovered = async (testBatchId: number, when: number, valueMinor: number) =>
	done(
		await perform(act, (deed) =>
			recordRecovery(deed, {
				...{ testBatchId, at: when, kind: 'blended off', massG: 1_000, valueMinor, productId }
			})
		)
	);

let first: number;

beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Priya') };
	({ roasterId, productId } = await setUpRoastery(act));
	({ lotId } = done(await perform(act, (deed) => createLot(deed, lotInput('A-1')))));
	done(
		await perform(act, (deed) =>
			recordPriceTerms(deed, {
				...{ lotId, agreedOn: '2026-09-01', basis: 'outright', priceE4: 70_000 },
				...{ differentialE4: 0, per: 'kg', currency: 'GBP', fxE6: null, fxOn: '2026-09-01' },
				...{ incoterm: 'CFR', freightMinor: 0, insurancePpm: 0, dutyPpm: 0, portMinor: 0 },
				...{ warehouseMinor: 0, financeDays: 0, financeRatePpm: 0 }
			})
		)
	);
	done(
		await perform(act, (deed) =>
			recordMovement(deed, lotId, {
				...{ at: at(9, 20), kind: 'received', massG: 120_000, reason: 'weighed' }
			})
		)
	);
	await tested(at(9, 28));
	first = await tested(at(10, 20));
	await recovered(first, at(10, 21), 500);
});
afterAll(() => db.remove());

const statement = (period: string, cut: (typeof CUTS)[number] = 'month') =>
	loadStatement(db.database.orm, NOW, { cut, filter: NO_FILTER, period });

/** All that goes out about a period, as text. */
async function papers(period: string): Promise<string> {
	const cuts = await Promise.all(CUTS.map((cut) => statement(period, cut)));
	const journal = await loadJournal(db.database.orm, NOW, {
		...{ cut: 'month', filter: NO_FILTER, period }
	});
	return [...cuts.map(statementTable), journalTable(journal.lines, 'GBP')].map(csvText).join('\n');
}

describe('a month that is closed', () => {
	it('is the same before and after closing, and keeps its tests', async () => {
		const before = await papers('2026');
		done(await perform(act, (deed) => closePeriod(deed, { month: '2026-10', note: '' })));
		expect(await papers('2026')).toBe(before);
	});

	it('does not change by anything recorded late; the first open month takes it', async () => {
		const [september, october] = [await papers('2026-09'), await papers('2026-10')];
		const was = (await statement('2026-10')).total;
		await tested(at(10, 29));
		await recovered(first, at(10, 30), 700);
		const late = [
			perform(act, (deed) =>
				readMeters(deed, {
					...{ batch: { testBatchId: first }, readAt: NOW, gasWh: 30_000, powerWh: null }
				})
			),
			perform(act, (deed) =>
				recordInvoice(deed, {
					...{ lotId, day: '2026-10-12', kind: 'port', number: 'P-1', amountMinor: 24_000 },
					...{ currency: 'GBP', fxE6: null, note: '' }
				})
			),
			perform(act, (deed) =>
				recordMovement(deed, lotId, {
					...{ at: at(10, 25), kind: 'written off', massG: -500, reason: 'wet' }
				})
			)
		];
		for (const each of late) done(await each);
		const dearer = { ...RATE, roasterId, labourMinorPerHour: 3_600 };
		done(await perform(act, (deed) => saveCostRate(deed, dearer, 1)));
		const slower = { ...ROASTER, cycleMin: 30 };
		done(await perform(act, (deed) => saveRoaster(deed, slower, 1)));

		expect(await papers('2026-09')).toBe(september);
		expect(await papers('2026-10')).toBe(october);
		const november = (await statement('2026-11')).total;
		expect(november).toMatchObject({ tests: 1, greenG: 10_000, recovered: { minor: 700 } });
		// Three tests' time, doubled, less what two had counted.
		expect(november.machineS).toBe(3 * 1_800 - 2 * 900);
		const { tests } = await loadCostedTests(db.database.orm, NOW, {
			...{ cut: 'month', filter: { ...NO_FILTER, month: '2026-11' }, period: 'all' }
		});
		expect(tests.map(({ number, day, late }) => [number, day, late])).toEqual([
			[3, '2026-10-29', 'recorded after 2026-10 was closed: counts in 2026-11'],
			[2, '2026-10-20', 'what changed after 2026-10 was closed: counts in 2026-11'],
			[1, '2026-09-28', 'what changed after 2026-09 was closed: counts in 2026-11']
		]);
		const whole = await statement('2026');
		expect(whole.total.cost.minor).toBe(
			(await statement('2026-09')).total.cost.minor + was.cost.minor + november.cost.minor
		);
	});

	it('closes again with what came late, which stays then too', async () => {
		const later = { ...act, now: Date.UTC(2026, 11, 2, 9) };
		const november = await papers('2026-11');
		done(await perform(later, (deed) => closePeriod(deed, { month: '2026-11', note: '' })));
		await recovered(first, at(11, 3), 900);
		expect(await papers('2026-11')).toBe(november);
	});
});
