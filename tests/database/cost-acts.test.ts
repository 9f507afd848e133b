import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { USUAL_ACCOUNTS } from '#lib/domain/cost/accounts.ts';
import { balanceOf } from '#lib/domain/cost/journal.ts';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { readMeters } from '#lib/server/commands/readMeters.ts';
import { recordPriceTerms } from '#lib/server/commands/recordPriceTerms.ts';
import { recordRecovery } from '#lib/server/commands/recordRecovery.ts';
import { recordTestRoast } from '#lib/server/commands/recordTestRoast.ts';
import { saveCostRate } from '#lib/server/commands/saveCostRate.ts';
import { saveJournalAccounts } from '#lib/server/commands/saveJournalAccounts.ts';
import { saveShifts } from '#lib/server/commands/saveShifts.ts';
import { saveTestBudget } from '#lib/server/commands/saveTestBudget.ts';
import { loadAhead } from '#lib/server/views/ahead.ts';
import { loadCostedTests, loadStatement, NO_FILTER } from '#lib/server/views/cost.ts';
import { loadJournal } from '#lib/server/views/journal.ts';
import { loadProductionCosts } from '#lib/server/views/production.ts';
import { owner, someone } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { arrivedLot, done, RATE, SETTINGS, setUpRoastery } from '#support/smallRoastery.ts';

/** Meters, rates with two editors, budgets and accounts. */

const NOW = Date.UTC(2026, 10, 25, 10, 0);
const ALL = { cut: 'month' as const, filter: NO_FILTER, period: 'all' };

let db: TestDatabase;
let act: Act;
let roasterId: number;
let testBatchId: number;

beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Jo') };
	const made = await setUpRoastery(act);
	roasterId = made.roasterId;
	const lotId = await arrivedLot(act, 'A-1');
	done(
		await perform(act, (deed) =>
			recordPriceTerms(deed, {
				...{ lotId, agreedOn: '2026-10-01', basis: 'outright', priceE4: 70_000 },
				...{ differentialE4: 0, per: 'kg', currency: 'GBP', fxE6: 1_000_000, fxOn: '2026-10-01' },
				...{ incoterm: 'DAP', freightMinor: 0, insurancePpm: 0, dutyPpm: 0, portMinor: 0 },
				...{ warehouseMinor: 0, financeDays: 0, financeRatePpm: 0 }
			} as never)
		)
	);
	const planned = done(
		await perform(act, (deed) =>
			planTest(deed, {
				...{ lotId, plannedAt: NOW - 7_200_000, purpose: 'First', change: '', roasterId },
				settings: SETTINGS
			})
		)
	);
	testBatchId = (planned as { testBatchId: number }).testBatchId;
	done(
		await perform(act, (deed) =>
			recordTestRoast(deed, {
				...{ testBatchId, roastedAt: NOW - 3_600_000, chargeG: 10_000, outG: 8_500 },
				...{ note: '', file: null }
			})
		)
	);
	done(
		await perform(act, (deed) =>
			recordRecovery(deed, {
				...{ testBatchId, at: NOW, kind: 'blended off', massG: 5_000, valueMinor: 3_000 },
				productId: made.productId
			})
		)
	);
});
afterAll(() => db.remove());

const costed = async () => (await loadCostedTests(db.database.orm, NOW, ALL)).tests[0]!;

describe('meters of a batch', () => {
	it('count instead of the rate, each by itself, and the last reading counts', async () => {
		// By rate 4 + .5 * 10 = 9 kWh of gas at .08 is .72.
		expect((await costed()).byItem.gas.minor).toBe(72);
		const read = (gasWh: number | null, powerWh: number | null) =>
			perform(act, (deed) =>
				readMeters(deed, { batch: { testBatchId }, readAt: NOW, gasWh, powerWh })
			);
		done(await read(30_000, null));
		// 30 kWh at .08.
		expect((await costed()).byItem.gas.minor).toBe(240);
		done(await read(12_500, null));
		expect((await costed()).byItem.gas.minor).toBe(100);
		expect((await costed()).howWorked).toContain('12.5 kWh by meter');
		expect(await read(null, null)).toMatchObject({ ok: false });
		const nowhere = await perform(act, (deed) =>
			readMeters(deed, { batch: { productionId: 77 }, readAt: NOW, gasWh: 1, powerWh: 1 })
		);
		expect(nowhere).toMatchObject({ ok: false, problems: [{ path: 'batch' }] });
	});
});

describe('a test by process costing', () => {
	it('is held to the usual loss before any recipe; output and abnormal loss are its cost', async () => {
		const { abnormalG, abnormal, cost } = await costed();
		// 16 % of 10 kg leaves 8.4; 8.5 came out.
		expect(abnormalG).toBe(-100);
		expect(abnormal.minor).toBe(-Math.round((cost.minor * 100) / 8_400));
	});
});

describe('two editors', () => {
	it('the second of rates of a day is told, and of shifts', async () => {
		const rate = { ...RATE, roasterId, machineCostMinor: 4_800_000, machineResidualMinor: 600_000 };
		const dep = { ...rate, machineLifeYears: 7, machineHoursPerYear: 1_800 };
		done(await perform(act, (deed) => saveCostRate(deed, dep, 1)));
		const late = await perform(act, (deed) => saveCostRate(deed, rate, 1));
		expect(late).toMatchObject({ ok: false, problems: [{ path: 'version' }] });
		const again = await perform(act, (deed) => saveCostRate(deed, rate, 0));
		expect(again).toMatchObject({ ok: false, problems: [{ path: 'from' }] });
		// 15 min of 9.00 and 3.3333 an hour is 3.0833.
		expect((await costed()).byItem.machine.minor).toBe(308);

		const shift = { weekday: 1, startMin: 480, endMin: 600 };
		done(await perform(act, (deed) => saveShifts(deed, roasterId, [shift], 2)));
		const second = await perform(act, (deed) => saveShifts(deed, roasterId, [], 2));
		expect(second).toMatchObject({ ok: false, problems: [{ path: 'version' }] });
	});
});

describe('a budget', () => {
	it('is held against what was spent and is expected, and is not overwritten unseen', async () => {
		const save = (amountMinor: number, seen: number, period = '2026-11') =>
			perform(act, (deed) => saveTestBudget(deed, { period, amountMinor }, seen));
		done(await save(50_000, 0));
		expect(await save(60_000, 0)).toMatchObject({ ok: false, problems: [{ path: 'period' }] });
		done(await save(60_000, 1));
		done(await save(1, 0, '2026-10'));
		expect(await save(1, 0, '2026-13')).toMatchObject({
			ok: false,
			problems: [{ path: 'period' }]
		});
		const { budgets } = await loadAhead(db.database.orm, NOW, '');
		const { net } = await costed();
		const [over, running] = budgets;
		expect(over).toMatchObject({ period: '2026-10', chanceWithin: null, spentTests: 0 });
		expect(running).toMatchObject({ period: '2026-11', spent: net, lots: ['A-1'] });
		expect(running!.left.minor).toBe(60_000 - net.minor - running!.ahead.mean.minor);
		expect(running!.chanceWithin).toBeGreaterThan(0);
	});

	it('is set by operations and finance, not by the floor', async () => {
		const roasting = { ...act, actor: someone('roasting') };
		const refused = await perform(roasting, (deed) =>
			saveTestBudget(deed, { period: '2027', amountMinor: 1 })
		);
		expect(refused).toMatchObject({ ok: false, problems: [{ path: 'right' }] });
	});
});

describe('the journal', () => {
	it('goes to the accounts of the books and agrees with the statement', async () => {
		const accounts = { ...USUAL_ACCOUNTS, testing: { code: '7777', name: 'Trials' } };
		done(await perform(act, (deed) => saveJournalAccounts(deed, accounts, 0)));
		const stale = await perform(act, (deed) => saveJournalAccounts(deed, USUAL_ACCOUNTS, 0));
		expect(stale).toMatchObject({ ok: false, problems: [{ path: 'version' }] });
		const { lines } = await loadJournal(db.database.orm, NOW, ALL);
		const { total, recovered } = await loadStatement(db.database.orm, NOW, ALL);
		expect(balanceOf(lines, 'GBP').minor).toBe(0);
		expect(balanceOf(lines, 'GBP', 'testing')).toEqual(total.net);
		expect(lines[0]).toMatchObject({ account: { code: '7777' }, day: '2026-11-25' });
		expect(recovered).toMatchObject([
			{ kind: 'blended off', product: 'House', massG: 5_000, value: { minor: 3_000 } }
		]);
		const none = { ...accounts, gas: { code: ' ', name: 'Gas' } };
		const blank = await perform(act, (deed) => saveJournalAccounts(deed, none, 1));
		expect(blank).toMatchObject({ ok: false, problems: [{ path: 'gas_code' }] });
	});
});

it('a month without production says so with nothing in it', async () => {
	const question = { month: '2026-10', lot: null, page: 1 };
	const found = await loadProductionCosts(db.database.orm, NOW, question);
	expect(found).toMatchObject({ month: '2026-10', earlier: '2026-09', later: '2026-11' });
	expect(found.total).toMatchObject({ batches: 0, cost: { minor: 0 } });
});
