import { describe, expect, it } from 'vitest';
import { claimableG, landedCost } from '#lib/domain/cost/landed.ts';
import { buyerPays, CHARGES, type Incoterm, type PriceTerms } from '#lib/domain/cost/terms.ts';
import { type StockEvent, valueStock } from '#lib/domain/ledger/valuation.ts';

/** Units of the examples are kilograms here, prices stay in units of 100 minor units. */
const came = (units: number, price: number): StockEvent => ({
	kind: 'in',
	at: 0,
	massG: units * 1000,
	minor: Math.round(units * price * 100)
});
const left = (units: number): StockEvent => ({
	kind: 'out',
	at: 0,
	massG: units * 1000,
	use: 'produced'
});
const issues = (events: readonly StockEvent[], formula: 'averageMinor' | 'fifoMinor') =>
	valueStock(events)
		.filter(({ event }) => event.kind === 'out')
		.map(({ change }) => -change[formula] / 100);
const closing = (events: readonly StockEvent[], formula: 'averageMinor' | 'fifoMinor') =>
	(valueStock(events).at(-1)?.value[formula] ?? Number.NaN) / 100;

/**
 * CIMA C1 study text, Fundamentals of Management Accounting, section 4.1 "Example: AVCO", p. 110 (seen as
 * a page on fliphtml5.com, bmarl/mpft, page 131): opening 100 at 2.00; 400 at 2.10; issue 200; 300 at 2.12;
 * issue 400; 100 at 2.40; issue 100. Issues 416, 840, 220; closing 200 at 2.20 = 440; in all 1,916.
 */
describe('moving average, the CIMA C1 example', () => {
	const events = [
		...[came(100, 2), came(400, 2.1), left(200), came(300, 2.12), left(400)],
		...[came(100, 2.4), left(100)]
	];
	it('issues at 416, 840 and 220 and closes at 440', () => {
		expect(issues(events, 'averageMinor')).toEqual([416, 840, 220]);
		expect(closing(events, 'averageMinor')).toBe(440);
	});

	it('by first in, first out sums to the same 1,916 (the sum seen, the parts worked by hand)', () => {
		// 100 x 2.00 + 100 x 2.10; 300 x 2.10 + 100 x 2.12; 100 x 2.12; left 100 x 2.12 + 100 x 2.40.
		expect(issues(events, 'fifoMinor')).toEqual([410, 842, 212]);
		expect(closing(events, 'fifoMinor')).toBe(452);
		expect(410 + 842 + 212 + 452).toBe(1_916);
	});
});

/**
 * CIMA F1 integrated workbook 2018, p. 221 (seen on online.flipbuilder.com, bmcx/winh, page 231): 200, then
 * 100 at 18, then 150 at 20 bought, 250 sold; closing 200 = 50 x 18 + 150 x 20 = 3,900. The price of the
 * first 200 was on the page before and doesn't matter: they are all sold.
 */
it('first in, first out closes at 3,900, the CIMA F1 example', () => {
	for (const first of [1, 15, 99])
		expect(closing([came(200, first), came(100, 18), came(150, 20), left(250)], 'fifoMinor')).toBe(
			3_900
		);
});

/** Our own example of the notes (ran): 100 at 5.00, 200 at 5.60, issue 150, 100 at 6.10, issue 180. */
describe('both formulas on one history', () => {
	const events = [came(100, 5), came(200, 5.6), left(150), came(100, 6.1), left(180)];
	it('first in, first out: 780.00, 1,023.00 and 427.00 left', () => {
		expect(issues(events, 'fifoMinor')).toEqual([780, 1_023]);
		expect(closing(events, 'fifoMinor')).toBe(427);
	});

	it('moving average: 810.00, 1,022.40 and 397.60 left; each sums to 2,230', () => {
		expect(issues(events, 'averageMinor')).toEqual([810, 1_022.4]);
		expect(closing(events, 'averageMinor')).toBe(397.6);
		expect(780 + 1_023 + 427).toBe(2_230);
	});
});

const PRICE: PriceTerms = {
	basis: 'outright',
	priceE4: 0,
	differentialE4: 0,
	per: 'tonne',
	bagG: 60_000,
	currency: 'CNY',
	fxE6: null,
	fxOn: '2026-11-02',
	incoterm: 'FOB',
	freightMinor: 0,
	insurancePpm: 0,
	dutyPpm: 0,
	portMinor: 0,
	warehouseMinor: 0,
	financeDays: 0,
	financeRatePpm: 0
};
const lineOf = (terms: PriceTerms, massG: number, item: string) =>
	(landedCost(terms, massG, { currency: terms.currency }).lines.find((line) => line.item === item)
		?.money.minor ?? Number.NaN) / 100;

/**
 * An examination question in trade practice (seen: nntiku.com, question DB663DD91373C59D): rice at CNY 1,500
 * a tonne, freight 180 a tonne, premium 1 % on CIF plus 10 %: premium = 1,680 x 110 % x 1 % / (1 - 110 % x
 * 1 %) = 18.69 a tonne. A hundred tonnes show the next two figures.
 */
it('the premium is on CIF plus 10 %, with the premium in it: 18.69 a tonne', () => {
	const terms = { ...PRICE, priceE4: 15_000_000, insurancePpm: 10_000 };
	expect(lineOf({ ...terms, freightMinor: 18_000 }, 1_000_000, 'insurance')).toBe(18.69);
	expect(lineOf({ ...terms, freightMinor: 1_800_000 }, 100_000_000, 'insurance')).toBe(1_868.55);
});

/**
 * A carrier's guide to import duty (seen: dhl.com, "All you need to know about UK import tax and duty"):
 * goods GBP 10,000, freight and insurance 500, CIF 10,500, duty 4 % = 420, in all 10,920.
 */
it('duty is on the CIF value: 420 on 10,500, 10,920 in all', () => {
	const terms = { ...PRICE, currency: 'GBP', priceE4: 100_000_000, freightMinor: 50_000 };
	const taxed = { ...terms, dutyPpm: 40_000 };
	expect(lineOf(taxed, 1_000_000, 'duty')).toBe(420);
	expect(landedCost(taxed, 1_000_000, { currency: 'GBP' }).total.minor).toBe(1_092_000);
});

/**
 * Weight franchise of half a percent on the shipped net weight; a loss beyond it is refunded by the seller
 * (rule seen: thecoffeeguide.org, "Quantity, weights and packing"; the figures ran on that rule).
 */
describe('the weight franchise', () => {
	const shipped = { shippedG: 19_200_000, franchisePpm: 5_000 };
	it('refunds 48 kg of a loss of 0.75 %, and nothing of 0.5 %', () => {
		expect(claimableG(shipped, 19_056_000)).toBe(48_000);
		expect(claimableG(shipped, 19_104_000)).toBe(0);
		expect(claimableG(shipped, 19_300_000)).toBe(0);
	});

	it('claims nothing without a franchise, as contracts that make no such provision', () => {
		expect(claimableG({ shippedG: 19_200_000 }, 19_000_000)).toBe(0);
	});

	it('is claimed at the price: 48 kg at 250 c/lb are $264.55', () => {
		const terms = { ...PRICE, ...shipped, currency: 'USD', per: 'lb', priceE4: 25_000 } as const;
		expect(lineOf(terms, 19_056_000, 'weight claim')).toBe(-264.55);
	});
});

/**
 * Incoterms 2020 as the coffee guides describe them: under FOB the buyer pays freight, insurance and all
 * destination costs; under CFR insurance and destination; under CIF destination charges, duties and delivery
 * only (seen: indonesia-coffee.com, FOB, CFR and CIF guide 2026). EXW, DAP and DDP from memory.
 */
it.each<[Incoterm, string]>([
	['EXW', 'freight insurance duty port warehouse finance'],
	['FOB', 'freight insurance duty port warehouse finance'],
	['CFR', 'insurance duty port warehouse finance'],
	['CIF', 'duty port warehouse finance'],
	['DAP', 'duty warehouse finance'],
	['DDP', 'warehouse finance']
])('under %s the buyer pays %s', (incoterm, charges) => {
	expect(CHARGES.filter((charge) => buyerPays(charge, incoterm)).join(' ')).toBe(charges);
});

/**
 * Duty on the value at the border, two worked examples of guides for importers, each seen as stored text of
 * its page on 2026-11-25. Pieces there are kilograms here; freight comes with its insurance in one sum.
 * - dhl.com/discover, "All you need to know about UK import tax and duty": 2,000 at GBP 5 = 10,000; 500 of
 *   insurance and freight; CIF 10,500 at 4 % = 420; in all 10,920.
 * - utilitypilot.net, customs value calculator: USD 8,000, freight 1,200, insurance 80; CIF 9,280 at 12 % =
 *   1,113.60; with the duty 10,393.60.
 */
describe('duty on CIF, two guides for importers', () => {
	const bought = (price: number, over: Partial<PriceTerms>): PriceTerms => ({
		...{ basis: 'outright', priceE4: price * 10_000, differentialE4: 0, per: 'kg', bagG: 60_000 },
		...{ currency: 'GBP', fxE6: null, fxOn: '2026-11-25', incoterm: 'FOB' },
		...{ insurancePpm: 0, portMinor: 0, warehouseMinor: 0, financeDays: 0, financeRatePpm: 0 },
		...{ freightMinor: 0, dutyPpm: 0 },
		...over
	});
	it('is 420.00 of 10,500, in all 10,920.00', () => {
		const terms = bought(5, { freightMinor: 50_000, dutyPpm: 40_000 });
		const { lines, total } = landedCost(terms, 2_000_000, { currency: 'GBP' });
		expect(lines.map(({ item, money }) => [item, money.minor])).toEqual([
			['goods', 1_000_000],
			['freight', 50_000],
			['duty', 42_000]
		]);
		expect(total.minor).toBe(1_092_000);
	});

	it('is 1,113.60 of 9,280, in all 10,393.60', () => {
		const terms = bought(8, { currency: 'USD', freightMinor: 128_000, dutyPpm: 120_000 });
		const { lines, total } = landedCost(terms, 1_000_000, { currency: 'USD' });
		expect(lines.find(({ item }) => item === 'duty')?.money.minor).toBe(111_360);
		expect(total.minor).toBe(1_039_360);
	});
});
