import { describe, expect, it } from 'vitest';
import { money } from '../quantity/money.ts';
import { landedCost, perKgText } from './landed.ts';
import { checkTerms, INCOTERMS, type Incoterm, type PriceTerms } from './terms.ts';

/** A lot of ten bags, dollars a kilogram, costed in pounds. */
const TERMS: PriceTerms = {
	basis: 'outright',
	priceE4: 80_000,
	differentialE4: 0,
	per: 'kg',
	bagG: 60_000,
	currency: 'USD',
	fxE6: 790_000,
	fxOn: '2026-11-02',
	incoterm: 'FOB',
	freightMinor: 30_000,
	insurancePpm: 5_000,
	dutyPpm: 75_000,
	portMinor: 9_000,
	warehouseMinor: 4_550,
	financeDays: 90,
	financeRatePpm: 60_000
};
const GBP = { currency: 'GBP' };

describe('the landed cost', () => {
	it('works each line by hand, rounded once in the site currency (rules 3, 4, 5)', () => {
		const cost = landedCost(TERMS, 600_000, GBP);
		const lines = cost.lines.map((line) => [line.item, line.money.minor]);
		// Goods 4,800, freight 300, premium 5,100 * .0055 / .9945 = 28.2051..., border 5,128.2051... dollars.
		expect(lines).toEqual([
			['goods', 379_200],
			['freight', 23_700],
			['insurance', 2_228],
			['duty', 30_385],
			['port', 9_000],
			['warehouse', 4_550],
			['finance', 6_077]
		]);
		expect(cost.total).toEqual(money(455_140, 'GBP'));
		expect(cost.perKgE4).toBe(75_857);
		expect(perKgText(cost)).toBe('GBP 7.5857 a kg');
	});

	it('says how each line was worked', () => {
		const lines = landedCost(TERMS, 600_000, GBP).lines;
		const how = Object.fromEntries(lines.map((line) => [line.item, line.howWorked]));
		const rate = '; GBP 0.79 for USD 1 on 2026-11-02, as stated';
		expect(how).toEqual({
			goods: `600 kg at USD 8.00 a kg = USD 4,800.00${rate}`,
			freight: `USD 300.00${rate}`,
			insurance: `0.5 % of CIF USD 5,128.21 plus 10 % = USD 28.21${rate}`,
			duty: `7.5 % of USD 5,128.21 at the border = USD 384.62${rate}`,
			port: 'as charged',
			warehouse: 'as charged',
			finance: `6 % a year on USD 5,128.21 for 90 days, actual/360 = USD 76.92${rate}`
		});
	});

	it('shows an exchange price with its differential, and bags', () => {
		const exchange = {
			...TERMS,
			basis: 'exchange' as const,
			priceE4: 4_000_000,
			per: 'bag' as const
		};
		const under = landedCost({ ...exchange, differentialE4: -125_000 }, 600_000, GBP);
		expect(under.lines[0]?.howWorked).toContain(
			'600 kg in bags of 60 kg at USD 400.00 - 12.50 a bag = USD 3,875.00'
		);
	});

	it.each<[Incoterm, string[]]>([
		['EXW', []],
		['FOB', []],
		['CFR', ['freight']],
		['CIF', ['freight', 'insurance']],
		['DAP', ['freight', 'insurance', 'port']],
		['DDP', ['freight', 'insurance', 'duty', 'port']]
	])('%s: the price covers %j, shown and not added (rule 2)', (incoterm, covered) => {
		const cost = landedCost({ ...TERMS, incoterm }, 600_000, GBP);
		const zero = cost.lines.filter((line) => line.money.minor === 0);
		expect(zero.map((line) => line.item)).toEqual(covered);
		expect(zero.every((line) => line.howWorked === `in the price under ${incoterm}`)).toBe(true);
		expect(cost.lines).toHaveLength(7);
		expect(cost.total.minor).toBe(cost.lines.reduce((sum, line) => sum + line.money.minor, 0));
	});

	it('never costs more under a term that covers more', () => {
		const totals = INCOTERMS.map(
			(incoterm) => landedCost({ ...TERMS, incoterm }, 600_000, GBP).total.minor
		);
		expect(totals).toEqual([...totals].sort((a, b) => b - a));
		expect(new Set(totals).size).toBe(5);
	});

	it('leaves out charges that the terms do not name', () => {
		const bare = { ...TERMS, insurancePpm: 0, dutyPpm: 0, financeDays: 0, warehouseMinor: 0 };
		const items = landedCost(bare, 600_000, GBP).lines.map((line) => line.item);
		expect(items).toEqual(['goods', 'freight', 'port']);
	});

	it('spreads the invoice over what arrived (rule 1)', () => {
		const short = landedCost(TERMS, 597_000, { ...GBP, invoicedG: 600_000 });
		expect(short.total).toEqual(landedCost(TERMS, 600_000, GBP).total);
		// 4,551.40 / 597 kg
		expect(short.perKgE4).toBe(76_238);
	});

	it('costs in currencies without minor units', () => {
		const cost = landedCost({ ...TERMS, fxE6: 3_712_345_678 }, 600_000, { currency: 'UGX' });
		expect(cost.lines[0]?.money).toEqual(money(17_819_259, 'UGX'));
	});

	it('throws on a mass that is none', () => {
		expect(() => landedCost(TERMS, 0, GBP)).toThrow('above zero');
		expect(() => landedCost(TERMS, 1.5, GBP)).toThrow('whole grams');
	});
});

describe('a loss in weight on the way', () => {
	const shipped = { ...TERMS, shippedG: 600_000, franchisePpm: 5_000 };
	it('is paid for, and claimed back beyond the franchise at the price (rules 1, 5)', () => {
		const { lines, invoicedG } = landedCost(shipped, 594_000, GBP);
		expect(invoicedG).toBe(600_000);
		expect(lines[0]?.money).toEqual(money(379_200, 'GBP'));
		expect(lines[1]).toEqual({
			item: 'weight claim',
			label: 'Weight claim',
			money: money(-1_896, 'GBP'),
			howWorked:
				'6 kg of 600 kg lost on the way, 3 kg beyond the 0.5 % franchise at USD 8.00 a kg = -USD 24.00; GBP 0.79 for USD 1 on 2026-11-02, as stated'
		});
	});

	it('is the buyer’s within the franchise, and wholly without one', () => {
		const items = (terms: PriceTerms) =>
			landedCost(terms, 597_000, GBP).lines.map((line) => line.item);
		expect(items(shipped)).not.toContain('weight claim');
		expect(items({ ...TERMS, shippedG: 600_000 })).not.toContain('weight claim');
	});
});

describe('the rate of a foreign price (rule 6)', () => {
	const open = { ...TERMS, fxE6: null };
	it('is the fixing day’s where the terms state none', () => {
		const rate = { rate: { num: 3n, den: 4n }, words: 'by the table' };
		const cost = landedCost(open, 600_000, { ...GBP, rate });
		expect(cost.lines[0]).toMatchObject({ money: money(360_000, 'GBP') });
		expect(cost.lines[0]?.howWorked).toMatch(/; by the table$/);
		expect(landedCost(TERMS, 600_000, { ...GBP, rate }).lines[0]?.money.minor).toBe(379_200);
	});

	it('has to be known', () => {
		expect(() => landedCost(open, 600_000, GBP)).toThrow(/USD needs a rate to GBP on 2026-11-02/);
	});
});

describe('checking price terms', () => {
	it('takes terms that fit', () => {
		expect(checkTerms(TERMS, 'GBP')).toEqual({ ok: true, value: TERMS });
		const at = { ...TERMS, currency: 'GBP', fxE6: 1_000_000 };
		expect(checkTerms(at, 'GBP').ok).toBe(true);
		const under = { ...TERMS, basis: 'exchange' as const, differentialE4: -1_000 };
		expect(checkTerms(under, 'GBP').ok).toBe(true);
	});

	it.each<[Partial<PriceTerms>, string]>([
		[{ differentialE4: 5 }, 'differentialE4'],
		[{ basis: 'exchange', differentialE4: -80_000 }, 'priceE4'],
		[{ bagG: 0 }, 'bagG'],
		[{ currency: 'USDX' }, 'currency'],
		[{ fxE6: 0 }, 'fxE6'],
		[{ currency: 'GBP' }, 'fxE6'],
		[{ freightMinor: -1 }, 'freightMinor'],
		[{ financeDays: -1 }, 'financeDays'],
		[{ insurancePpm: 900_000 }, 'insurancePpm'],
		[{ incoterm: 'CFR' }, 'freightMinor'],
		[{ incoterm: 'CIF', freightMinor: 0 }, 'insurancePpm'],
		[{ franchisePpm: 5_000 }, 'shippedG'],
		[{ shippedG: 0 }, 'shippedG'],
		[{ shippedG: 600_000, franchisePpm: 200_000 }, 'franchisePpm']
	])('refuses %j and names the field', (change, path) => {
		const outcome = checkTerms({ ...TERMS, ...change }, 'GBP');
		expect(outcome.ok ? [] : outcome.problems.map((problem) => problem.path)).toEqual([path]);
	});

	it('throws on a figure that was never parsed', () => {
		expect(() => checkTerms({ ...TERMS, priceE4: 0.5 }, 'GBP')).toThrow('priceE4');
	});
});
