import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { greenValueAt } from '#lib/domain/cost/greenValue.ts';
import { bagStocks, type BagPart } from '#lib/domain/ledger/bags.ts';
import { lotBalance, runningBalance } from '#lib/domain/ledger/ledger.ts';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { perform, type Act, type Deed } from '#lib/server/commands/act.ts';
import { closePeriod } from '#lib/server/commands/closePeriod.ts';
import { countStock } from '#lib/server/commands/countStock.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { recordInvoice, type InvoiceInput } from '#lib/server/commands/recordInvoice.ts';
import { recordMovement, type Entry } from '#lib/server/commands/recordMovement.ts';
import { recordPriceTerms, type PriceTermsInput } from '#lib/server/commands/recordPriceTerms.ts';
import { saveExchangeRate } from '#lib/server/commands/saveExchangeRate.ts';
import { loadBagRows, loadPeriods } from '#lib/server/store/ledger.ts';
import { loadMovements } from '#lib/server/store/lots.ts';
import { requireSite } from '#lib/server/store/site.ts';
import { loadLotValues } from '#lib/server/views/greenValue.ts';
import { newDatabase, rowCounts, type TestDatabase } from '#support/database.ts';
import { done, lotInput, setUpRoastery } from '#support/smallRoastery.ts';
import { owner } from '#support/actors.ts';

/** The ledger by bag, later invoices, dated rates and closed periods, from the acts to the values. */

/** Wednesday 25 November 2026, 09:00 in London. */
const NOW = Date.UTC(2026, 10, 25, 9);
const at = (month: number, day: number, hour = 9) => Date.UTC(2026, month - 1, day, hour);

let db: TestDatabase;
let act: Act;
beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Ana') };
	await setUpRoastery(act);
});
afterAll(() => db.remove());

type Verb = (deed: Deed) => Promise<Outcome<unknown>>;
const does = async (verb: Verb) => done(await perform(act, verb));

async function refuses(verb: Verb, path: string, message: RegExp): Promise<void> {
	const before = await rowCounts(db.database);
	const outcome = await perform(act, verb);
	expect(outcome.ok ? outcome : outcome.problems).toContainEqual({
		...{ path, message: expect.stringMatching(message) as string }
	});
	expect(await rowCounts(db.database)).toEqual(before);
}

const newLot = async (code: string) =>
	done(await perform(act, (deed) => createLot(deed, lotInput(code)))).lotId;
const moves =
	(
		lotId: number,
		kind: 'received' | 'sold green' | 'written off',
		massG: number,
		when: number,
		bags?: readonly BagPart[]
	): Verb =>
	(deed) => {
		const entry: Entry = { at: when, kind, massG, reason: 'weighed', ...(bags ? { bags } : {}) };
		return recordMovement(deed, lotId, entry as Entry & { kind: typeof kind });
	};
const TERMS: Omit<PriceTermsInput, 'lotId'> = {
	...{ agreedOn: '2026-08-01', basis: 'outright', priceE4: 100_000, differentialE4: 0, per: 'kg' },
	...{ currency: 'GBP', fxE6: null, fxOn: '2026-08-01', incoterm: 'FOB', freightMinor: 12_000 },
	...{ insurancePpm: 0, dutyPpm: 0, portMinor: 0, warehouseMinor: 0, financeDays: 0 },
	financeRatePpm: 0
};
const agrees =
	(lotId: number, over: Partial<PriceTermsInput> = {}): Verb =>
	(deed) =>
		recordPriceTerms(deed, { ...TERMS, lotId, ...over });
const bills =
	(lotId: number, over: Partial<InvoiceInput> = {}): Verb =>
	(deed) =>
		recordInvoice(deed, {
			...{ lotId, day: '2026-11-10', kind: 'freight', number: 'F-1', amountMinor: 24_000 },
			...{ currency: 'GBP', fxE6: null, note: '', ...over }
		});
async function valueOf(lotId: number) {
	const site = await requireSite(db.database.orm);
	return (await loadLotValues(db.database.orm, site, lotId)).get(lotId)!;
}
const bagsOf = async (lotId: number) => bagStocks(await loadBagRows(db.database.orm, lotId));

describe('the ledger by bag', () => {
	it('opens bags as weighed or in even shares, and takes from those named, else in order', async () => {
		const lotId = await newLot('BAGS');
		const weighed = [
			{ bag: 1, massG: 60_200 },
			{ bag: 2, massG: 59_700 }
		];
		await does(moves(lotId, 'received', 119_900, at(11, 2), weighed));
		await does(moves(lotId, 'received', 60_000, at(11, 3)));
		await does(moves(lotId, 'sold green', -9_700, at(11, 4), [{ bag: 2, massG: -9_700 }]));
		await does(moves(lotId, 'written off', -60_000, at(11, 5)));
		expect(await bagsOf(lotId)).toEqual([
			{ bag: 1, receivedG: 60_200, onHandG: 50_200 },
			{ bag: 2, receivedG: 59_700, onHandG: 0 },
			{ bag: 3, receivedG: 60_000, onHandG: 60_000 }
		]);
		const rows = await loadBagRows(db.database.orm, lotId);
		expect(rows.filter((row) => row.named).map((row) => row.bag)).toEqual([1, 2, 2]);
		expect(rows.filter((row) => !row.weighed).map((row) => row.bag)).toEqual([3]);
	});

	it('refuses what a bag or the lot did not hold then or since, and writes nothing', async () => {
		const lotId = await newLot('SHORT');
		await does(moves(lotId, 'received', 120_000, at(11, 2)));
		await does(moves(lotId, 'sold green', -100_000, at(11, 10)));
		await refuses(
			moves(lotId, 'written off', -30_000, at(11, 5)),
			'massG',
			/30 kg is more than the 20 kg on hand, then or since/
		);
		await refuses(
			moves(lotId, 'written off', -10_000, at(11, 12), [{ bag: 1, massG: -10_000 }]),
			'bags',
			/10 kg is more than the 0 kg in bag 1/
		);
		await refuses(moves(lotId, 'written off', -1_000, at(11, 1)), 'massG', /more than the 0 kg/);
		expect(runningBalance(await loadMovements(db.database.orm, lotId)).lowestG).toBe(0);
	});

	it('counts bags: what differs is a movement with a reason and a name', async () => {
		const lotId = await newLot('COUNT');
		await does(moves(lotId, 'received', 120_000, at(11, 2)));
		const bags = [
			{ bag: 1, massG: 59_400 },
			{ bag: 2, massG: 60_100 }
		];
		const count = { lotId, at: at(11, 9), countedG: 119_500, reason: 'Month end' };
		await refuses(
			(deed) => countStock(deed, { ...count, countedG: 1, bags }),
			'bags',
			/sum to 119.5/
		);
		await does((deed) => countStock(deed, { ...count, bags }));
		expect((await bagsOf(lotId)).map((bag) => bag.onHandG)).toEqual([59_400, 60_100]);
		const movements = await loadMovements(db.database.orm, lotId);
		expect(movements.at(-1)).toMatchObject({ by: 'Ana', reason: 'Month end', massG: -500 });
		expect(lotBalance(movements)).toMatchObject({ countDifferenceG: -500, onHandG: 119_500 });
	});

	it('counts against the stock of that moment, not of now', async () => {
		const lotId = await newLot('THEN');
		await does(moves(lotId, 'received', 120_000, at(11, 2)));
		await does(moves(lotId, 'sold green', -20_000, at(11, 20)));
		await does((deed) =>
			countStock(deed, { lotId, at: at(11, 9), countedG: 119_000, reason: 'Count' })
		);
		expect(lotBalance(await loadMovements(db.database.orm, lotId)).onHandG).toBe(99_000);
	});
});

describe('dated exchange rates', () => {
	it('cost terms that state none by their fixing day; a missing one says day and pair', async () => {
		const lotId = await newLot('RATE');
		await does(moves(lotId, 'received', 100_000, at(11, 2)));
		await does(agrees(lotId, { currency: 'USD', fxOn: '2026-08-03', freightMinor: 0 }));
		expect(await valueOf(lotId)).toMatchObject({
			landed: null,
			problem: { message: expect.stringMatching(/from USD to GBP on 2026-08-03/) as string }
		});
		const rate = { day: '2026-08-03', from: 'USD', to: 'GBP', rateE6: 750_000, source: '' };
		await does((deed) => saveExchangeRate(deed, rate));
		expect((await valueOf(lotId)).landed?.total.minor).toBe(75_000);
		await does(agrees(lotId, { currency: 'USD', fxE6: 800_000, freightMinor: 0 }));
		const { landed } = await valueOf(lotId);
		expect(landed?.total.minor).toBe(80_000);
		expect(landed?.lines[0]?.howWorked).toMatch(/GBP 0.80 for USD 1 on 2026-08-01, as stated/);
		await refuses((deed) => saveExchangeRate(deed, { ...rate, to: 'USD' }), 'to', /two currencies/);
	});
});

describe('later invoices', () => {
	it('replace the estimate of their kind, for what is on hand and what was used', async () => {
		const lotId = await newLot('BILL');
		await does(agrees(lotId));
		await does(moves(lotId, 'received', 120_000, at(11, 2)));
		await does(moves(lotId, 'sold green', -30_000, at(11, 5)));
		await does(bills(lotId));
		const value = await valueOf(lotId);
		expect(value.steps.at(-1)?.sharing).toMatchObject({ onHandMinor: 9_000, usedMinor: 3_000 });
		expect(greenValueAt(value, at(11, 5), 'book')?.perKgE4).toBe(110_000);
		expect(greenValueAt(value, NOW, 'book')?.perKgE4).toBe(120_000);
	});

	it('are refused twice, at nothing, under a price that covers them, and without a rate', async () => {
		const lotId = await newLot('CIF');
		await does(agrees(lotId, { incoterm: 'CIF', freightMinor: 0 }));
		await refuses(agrees(lotId, { incoterm: 'CIF' }), 'freight', /whose price covers it/);
		await refuses(bills(lotId), 'kind', /freight is in the price under CIF/);
		await refuses(bills(lotId, { kind: 'port', amountMinor: 0 }), 'amount', /above zero/);
		await refuses(bills(lotId, { kind: 'port', currency: 'EUR' }), 'fx_rate', /EUR to GBP on 2026/);
		await does(bills(lotId, { kind: 'port' }));
		await refuses(bills(lotId, { kind: 'port' }), 'number', /recorded already/);
	});
});

/** Last: what is closed stays closed for every test of this file. */
describe('a closed period', () => {
	it('takes no correction: what is recorded for it lands in the next open one', async () => {
		const lotId = await newLot('CLOSE');
		await does(agrees(lotId));
		await does(moves(lotId, 'received', 120_000, at(9, 2)));
		await does(moves(lotId, 'sold green', -60_000, at(10, 5)));
		const unfixed = await newLot('UNFIXED');
		await does(agrees(unfixed, { currency: 'USD', fxOn: '2026-11-05' }));
		await does(moves(unfixed, 'received', 100_000, at(9, 2)));
		const before = await valueOf(lotId);
		const closes = (month: string) => (deed: Deed) => closePeriod(deed, { month, note: 'Books' });
		await refuses(closes('2026-11'), 'month', /not over yet/);
		await does(closes('2026-10'));
		await refuses(closes('2026-10'), 'month', /not opened again/);
		await refuses(closes('2026-09'), 'month', /closed already/);
		expect(await loadPeriods(db.database.orm)).toMatchObject([
			{ month: '2026-10', by: 'Ana', at: NOW, note: 'Books' }
		]);

		await does(moves(lotId, 'written off', -6_000, at(10, 7)));
		await does(bills(lotId, { day: '2026-10-20' }));
		await does(agrees(lotId, { agreedOn: '2026-09-15', priceE4: 110_000 }));
		const day = { day: '2026-10-31', from: 'USD', to: 'GBP', rateE6: 750_000, source: '' };
		await refuses((deed) => saveExchangeRate(deed, day), 'day', /lies in a closed period/);

		const opened = at(11, 1, 0);
		await does((deed) => saveExchangeRate(deed, { ...day, day: '2026-11-05' }));
		const fixed = await valueOf(unfixed);
		expect(greenValueAt(fixed, opened - 1, 'book')).toBeNull();
		expect(greenValueAt(fixed, opened, 'book')?.perKgE4).toBe(84_000);
		const movements = await loadMovements(db.database.orm, lotId);
		expect(movements.at(-1)).toMatchObject({ at: opened, happenedAt: at(10, 7), massG: -6_000 });
		const after = await valueOf(lotId);
		const inClosed = after.steps.filter((step) => step.event.at < opened);
		expect(inClosed).toEqual(before.steps);
		expect(after.steps.slice(inClosed.length).every((step) => step.event.at === opened)).toBe(true);
		expect(greenValueAt(after, opened - 1, 'book')).toEqual(greenValueAt(before, NOW, 'book'));
	});
});
