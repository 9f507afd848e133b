import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { closePeriod } from '#lib/server/commands/closePeriod.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { recordInvoice } from '#lib/server/commands/recordInvoice.ts';
import { recordMovement } from '#lib/server/commands/recordMovement.ts';
import { recordPriceTerms } from '#lib/server/commands/recordPriceTerms.ts';
import { saveExchangeRate } from '#lib/server/commands/saveExchangeRate.ts';
import { csvText } from '#lib/server/documents/csv.ts';
import { findLot } from '#lib/server/store/lots.ts';
import { requireSite } from '#lib/server/store/site.ts';
import { loadExport } from '#lib/server/views/export/all.ts';
import { loadLotLedger } from '#lib/server/views/lot/ledger.ts';
import { loadRatesView } from '#lib/server/views/rates.ts';
import { loadPeriodsView, loadStock } from '#lib/server/views/stock.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { done, lotInput, setUpRoastery } from '#support/smallRoastery.ts';

/** What the pages of stock, closed months and rates show, and the tables that go out, from a small ledger. */

/** Wednesday 25 November 2026, 09:00 in London. */
const NOW = Date.UTC(2026, 10, 25, 9);
const at = (month: number, day: number) => Date.UTC(2026, month - 1, day, 9);

let db: TestDatabase;
let act: Act;

/** 120 kg at 10 pounds and 120 of freight; 30 kg sold in October, freight of 240 invoiced in November. */
beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Ana') };
	await setUpRoastery(act);
	for (const code of ['KEPT', 'BARE', 'OPEN']) {
		const { lotId } = done(await perform(act, (deed) => createLot(deed, lotInput(code))));
		const currency = code === 'OPEN' ? 'USD' : 'GBP';
		const moves = (kind: 'received' | 'sold green', massG: number, when: number) =>
			perform(act, (deed) =>
				recordMovement(deed, lotId, { at: when, kind, massG, reason: 'weighed' })
			);
		if (code !== 'BARE')
			done(
				await perform(act, (deed) =>
					recordPriceTerms(deed, {
						...{ lotId, agreedOn: '2026-08-01', basis: 'outright', priceE4: 100_000 },
						...{ differentialE4: 0, per: 'kg', currency, fxE6: null, fxOn: '2026-08-01' },
						...{ incoterm: 'CFR', freightMinor: 0, insurancePpm: 0, dutyPpm: 0 },
						...{ portMinor: 12_000, warehouseMinor: 0, financeDays: 0, financeRatePpm: 0 }
					})
				)
			);
		done(await moves('received', 120_000, at(10, 2)));
		if (code !== 'KEPT') continue;
		done(await moves('sold green', -30_000, at(10, 20)));
		const bill = { lotId, day: '2026-11-10', kind: 'port', number: 'P-1', amountMinor: 24_000 };
		done(
			await perform(act, (deed) =>
				recordInvoice(deed, { ...bill, kind: 'port', currency: 'GBP', fxE6: null, note: '' })
			)
		);
	}
});
afterAll(() => db.remove());

const stock = (q = '', show = 'held', key = 'lot') =>
	loadStock(db.database.orm, { q, show, sort: { key, descending: true }, page: 1 });

describe('the page of stock', () => {
	it('has each lot by weight, bag and both values, and says why one has none', async () => {
		const { lots, total, average, uncosted } = await stock();
		expect(lots.map((lot) => [lot.code, lot.average?.minor ?? lot.missing])).toEqual([
			['OPEN', expect.stringMatching(/no exchange rate from USD to GBP on 2026-08-01/)],
			['KEPT', 108_000],
			['BARE', 'It has no price terms.']
		]);
		const kept = lots[1]!;
		expect(kept).toMatchObject({ bagsWhole: 1, bagsOpen: 1, unexplainedG: 0 });
		expect(kept.balance).toMatchObject({ receivedG: 120_000, soldGreenG: 30_000, onHandG: 90_000 });
		expect(kept.fifo).toEqual(kept.average);
		expect(total.onHandG).toBe(330_000);
		expect([average.minor, uncosted]).toEqual([108_000, 2]);
	});

	it('is filtered and sorted by its address', async () => {
		expect((await stock('kept')).lots.map((lot) => lot.code)).toEqual(['KEPT']);
		expect((await stock('nowhere')).lots).toEqual([]);
		expect((await stock('', 'held', 'average')).lots[0]?.code).toBe('KEPT');
	});
});

it('a lot’s page says which charges apply and why, its invoices and what they changed', async () => {
	const { orm } = db.database;
	const lot = (await findLot(orm, 'KEPT'))!;
	const ledger = await loadLotLedger(orm, await requireSite(orm), lot, NOW);
	expect(ledger.charges.map(({ label, isCharged, why }) => [label, isCharged, why])).toEqual([
		['Freight', false, 'in the price under CFR'],
		['Insurance', true, 'the buyer pays it under CFR'],
		['Duty', true, 'the buyer pays it under CFR'],
		['Port and clearing', true, 'the buyer pays it under CFR'],
		['Warehouse', true, "always the buyer's"],
		['Finance', true, "always the buyer's"]
	]);
	expect(ledger.invoices).toMatchObject([{ number: 'P-1', counted: { minor: 24_000 } }]);
	expect(ledger.corrections).toMatchObject([
		{
			because: 'port P-1',
			difference: { minor: 12_000 },
			onHand: { minor: 9_000 },
			used: { minor: 3_000 },
			uses: [{ use: 'sold green', massG: 30_000 }]
		}
	]);
	expect(ledger.bags.map((bag) => bag.onHandG)).toEqual([30_000, 60_000]);
	expect(Object.values(ledger.partsOf)).toEqual(['1 (60 kg), 2 (60 kg)', '1']);
});

it('the tables that go out hold the same', async () => {
	const rows = async (file: string) =>
		csvText((await loadExport(db.database.orm, NOW, file))!)
			.split('\r\n')
			.filter((line) => line.includes('KEPT'));
	expect(await rows('stock_value.csv')).toEqual(['KEPT,GBP,120,0,0,0,30,0,0,90,1080,1080']);
	expect(await rows('bags.csv')).toEqual(['KEPT,1,no,60,30', 'KEPT,2,no,60,60']);
	expect((await rows('cost_corrections.csv'))[0]).toMatch(
		/KEPT,2026-11-10 00:00,port P-1,GBP,120,90,30,0/
	);
});

describe('rates and months', () => {
	it('name the lots that want a rate until it is entered', async () => {
		const before = await loadRatesView(db.database.orm, NOW, '');
		expect(before.missing.map((lot) => lot.code)).toEqual(['OPEN']);
		const rate = { day: '2026-08-01', from: 'USD', to: 'GBP', source: 'bank' };
		for (const rateE6 of [740_000, 750_000])
			done(await perform(act, (deed) => saveExchangeRate(deed, { ...rate, rateE6 })));
		const after = await loadRatesView(db.database.orm, NOW, 'usd bank');
		expect(after.missing).toEqual([]);
		expect(after.rates.map((line) => [line.rate, line.isCorrected])).toEqual([
			['0.75', false],
			['0.74', true]
		]);
		expect((await loadRatesView(db.database.orm, NOW, 'eur')).found).toBe(0);
	});

	it('show the stock at each month’s end, and who closed it', async () => {
		const before = await loadPeriodsView(db.database.orm, NOW);
		expect(before.closable).toEqual(['2026-10']);
		done(await perform(act, (deed) => closePeriod(deed, { month: '2026-10', note: 'Books' })));
		const after = await loadPeriodsView(db.database.orm, NOW);
		expect(after).toMatchObject({ openFrom: '2026-11', closable: [] });
		expect(after.months).toEqual([
			{
				...before.months[0],
				closed: { at: { day: '2026-11-25', clock: '09:00' }, by: 'Ana', note: 'Books' }
			}
		]);
		// KEPT: 90 kg at 11.00; OPEN: 1,200 dollars at 0.75 and 120 pounds of port.
		expect(after.months[0]).toMatchObject({
			onHandG: 330_000,
			average: { minor: 99_000 + 102_000 }
		});
	});
});
