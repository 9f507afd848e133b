import { array, assert, constantFrom, integer, property, record } from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { MovementKind } from '../ledger/movement.ts';
import { money } from '../quantity/money.ts';
import {
	greenValueAt,
	lotMonths,
	type LotRecords,
	type LotValue,
	lotValue,
	type PostedTerms,
	summedMovements
} from './greenValue.ts';
import type { InvoiceKind, PostedInvoice } from './invoice.ts';
import type { PriceTerms } from './terms.ts';

/** Ten pounds a kilogram and 100 pounds of freight for the lot, in pounds sterling. */
const PRICE: PriceTerms = {
	basis: 'outright',
	priceE4: 100_000,
	differentialE4: 0,
	per: 'kg',
	bagG: 60_000,
	currency: 'GBP',
	fxE6: null,
	fxOn: '2026-10-01',
	incoterm: 'FOB',
	freightMinor: 10_000,
	insurancePpm: 0,
	dutyPpm: 0,
	portMinor: 0,
	warehouseMinor: 0,
	financeDays: 0,
	financeRatePpm: 0
};
const terms = (postedAt = 0, over: Partial<PriceTerms> = {}): PostedTerms => ({
	...{ postedAt, rate: null, problem: null },
	terms: { ...PRICE, ...over }
});
let id = 0;
const move = (at: number, kind: MovementKind, massKg: number) => ({
	...{ id: (id += 1), lotId: 1, at, kind, massG: massKg * 1000 },
	...{ reason: 'weighed', by: 'Ines' }
});
const invoice = (postedAt: number, kind: InvoiceKind, pounds: number): PostedInvoice => ({
	...{ id: (id += 1), kind, postedAt, number: `N${pounds}`, day: '2026-11-01', rateWords: '' },
	amount: money(pounds * 100, 'GBP')
});
/** Instants stand for days of one month, from 100 on of the next. */
const monthOf = (at: number) => (at < 100 ? '2026-10' : '2026-11');
const lot = (over: Partial<LotRecords>) =>
	lotValue({
		...{ currency: 'GBP', expectedG: 100_000, terms: [terms()], invoices: [], movements: [] },
		monthOf,
		...over
	});

describe('the green cost of a lot', () => {
	it('is planned over what is expected until coffee comes, and booked from then on', () => {
		const value = lot({ movements: [move(10, 'received', 80), move(20, 'tested', -8)] });
		expect(greenValueAt(value, 5, 'plan')?.perKgE4).toBe(110_000);
		expect(greenValueAt(value, 5, 'book')).toBeNull();
		expect(greenValueAt(value, 10, 'book')?.perKgE4).toBe(112_500);
		expect(greenValueAt(value, 20, 'plan')?.perKgE4).toBe(112_500);
		expect(value.landed?.total).toEqual(money(90_000, 'GBP'));
		expect(value.steps.map((step) => step.change.averageMinor)).toEqual([90_000, -9_000]);
	});

	it('shares the difference of an invoice between stock and use, and leaves the past (rules 1, 3)', () => {
		const before = { movements: [move(10, 'received', 80), move(20, 'tested', -20)] };
		const value = lot({ ...before, invoices: [invoice(30, 'freight', 180)] });
		const step = value.steps.at(-1)!;
		expect(step.sharing).toMatchObject({ onHandMinor: 6_000, usedMinor: 2_000, toComeMinor: 0 });
		expect(step.sharing?.byUse).toEqual([{ use: 'tested', massG: 20_000, minor: 2_000 }]);
		expect(greenValueAt(value, 29, 'book')?.perKgE4).toBe(112_500);
		expect(greenValueAt(value, 30, 'book')?.perKgE4).toBe(122_500);
		expect(value.steps.slice(0, 2)).toEqual(lot(before).steps);
		expect(value.landed?.lines.find((line) => line.item === 'freight')).toMatchObject({
			money: money(18_000, 'GBP'),
			estimate: money(10_000, 'GBP'),
			howWorked: 'invoiced: N180 of 2026-11-01, GBP 180.00; in place of the estimate of GBP 100.00'
		});
	});

	it('sums invoices of a kind, adds other costs and takes credit notes off', () => {
		const invoices = [
			...[invoice(1, 'freight', 60), invoice(2, 'freight', 50)],
			...[invoice(3, 'other', 20), invoice(4, 'credit note', 30)]
		];
		const { landed } = lot({ invoices, movements: [move(10, 'received', 100)] });
		expect(landed?.total).toEqual(money(110_000 - 10_000 + 10_000, 'GBP'));
		expect(landed?.lines.map((line) => line.money.minor)).toEqual([100_000, 11_000, 2_000, -3_000]);
	});

	it('settles a weight claim by its credit note', () => {
		const shipped = terms(0, { shippedG: 100_000, franchisePpm: 5_000, freightMinor: 0 });
		const movements = [move(10, 'received', 99)];
		const claimed = lot({ terms: [shipped], movements });
		expect(claimed.landed?.total.minor).toBe(100_000 - 500);
		const paid = lot({ terms: [shipped], movements, invoices: [invoice(20, 'weight claim', 4)] });
		expect(paid.landed?.total.minor).toBe(100_000 - 400);
		expect(paid.steps.at(-1)?.change.averageMinor).toBe(100);
	});

	it('costs deliveries of a month as one, and a later one by what it adds (rule 2)', () => {
		const movements = [
			...[move(10, 'received', 30), move(12, 'produced', -10), move(20, 'received', 70)],
			move(120, 'received', 100)
		];
		const value = lot({ movements });
		expect(value.steps.map((step) => step.change.averageMinor)).toEqual([
			33_000, -11_000, 77_000, 100_000
		]);
		expect(value.landed?.total.minor).toBe(210_000);
		const last = value.steps.at(-1)!;
		expect(last.value.averageMinor).toBe(199_000);
	});

	it('keeps the part of a change for what is still to come (rules 2, 3)', () => {
		const movements = [
			...[move(10, 'received', 30), move(12, 'produced', -10), move(20, 'received', 70)]
		];
		const value = lot({ movements, invoices: [invoice(15, 'freight', 200)] });
		expect(value.steps[2]?.sharing).toMatchObject({
			...{ onHandMinor: 2_000, usedMinor: 1_000, toComeMinor: 7_000 }
		});
		expect(value.steps[3]?.change.averageMinor).toBe(84_000);
		const used = -value.steps[1]!.change.averageMinor + value.steps[2]!.sharing!.usedMinor;
		expect(value.steps.at(-1)!.value.averageMinor + used).toBe(value.landed?.total.minor);
	});

	it('shares what new terms change from when they count', () => {
		const movements = [move(10, 'received', 100), move(20, 'produced', -50)];
		const value = lot({ movements, terms: [terms(), terms(30, { priceE4: 120_000 })] });
		expect(greenValueAt(value, 25, 'book')?.perKgE4).toBe(110_000);
		expect(greenValueAt(value, 35, 'book')?.perKgE4).toBe(130_000);
		expect(value.steps.at(-1)?.sharing).toMatchObject({ onHandMinor: 10_000, usedMinor: 10_000 });
	});

	it('has no cost without terms that can be costed, and says why', () => {
		const problem = { path: 'fxE6', message: 'There is no exchange rate' };
		const movements = [move(10, 'received', 100)];
		const value = lot({ movements, terms: [{ ...terms(), problem }] });
		expect(value).toMatchObject({ landed: null, problem });
		expect(greenValueAt(value, 50, 'book')).toBeNull();
		expect(greenValueAt(value, 50, 'plan')).toBeNull();
		expect(greenValueAt(lot({ movements, terms: [] }), 50, 'book')).toBeNull();
	});

	it('keeps an emptied lot’s last price, and nothing of its value', () => {
		const value = lot({ movements: [move(10, 'received', 100), move(20, 'sold green', -100)] });
		expect(value.steps.at(-1)?.value).toEqual({ averageMinor: 0, fifoMinor: 0 });
		expect(greenValueAt(value, 50, 'book')?.perKgE4).toBe(110_000);
	});
});

describe('over random histories', () => {
	const kinds = ['received', 'count difference', 'produced', 'tested', 'sampled'] as const;
	const wish = record({
		what: constantFrom(...kinds, 'terms', 'invoice', 'produced', 'tested'),
		at: integer({ min: 0, max: 320 }),
		kg: integer({ min: 1, max: 90 }),
		pounds: integer({ min: 1, max: 900 })
	});
	/** What is impossible is left out; an hour is an instant, a hundred of them a month. */
	function historyOf(wishes: readonly { what: string; at: number; kg: number; pounds: number }[]) {
		const rows = wishes.toSorted((a, b) => a.at - b.at);
		let stockKg = 0;
		const movements = rows.flatMap(({ what, at, kg }) => {
			const kind = kinds.find((each) => each === what);
			if (!kind) return [];
			const isIn = kind === 'received' || (kind === 'count difference' && kg % 2 === 0);
			const massKg = isIn ? kg : -Math.min(kg, stockKg);
			stockKg += massKg;
			return massKg === 0 ? [] : [move(at, kind, massKg)];
		});
		return {
			...{ currency: 'GBP', expectedG: 100_000, movements },
			terms: rows.flatMap(({ what, at, pounds }) =>
				what === 'terms' ? [terms(at, { priceE4: pounds * 1000 })] : []
			),
			invoices: rows.flatMap(({ what, at, pounds }) =>
				what === 'invoice' ? [invoice(at, 'port', pounds)] : []
			),
			monthOf: (at: number) => `2026-0${1 + Math.floor(at / 100)}`
		};
	}

	it('has the same prices, corrections and month ends when what leaves is summed (rule 5)', () => {
		assert(
			property(array(wish, { maxLength: 60 }), (wishes) => {
				const records = historyOf(wishes);
				const movements = summedMovements(records);
				const [each, summed] = [lotValue(records), lotValue({ ...records, movements })];
				expect(summed.landed).toEqual(each.landed);
				expect(summed.plans).toEqual(each.plans);
				for (let at = 0; at <= 330; at += 1)
					for (const purpose of ['book', 'plan'] as const)
						expect(greenValueAt(summed, at, purpose)).toEqual(greenValueAt(each, at, purpose));
				expect(lotMonths(summed, records.monthOf)).toEqual(lotMonths(each, records.monthOf));
				const corrections = (value: LotValue) => value.steps.filter((step) => step.sharing);
				expect(corrections(summed).map(({ sharing }) => sharing)).toEqual(
					corrections(each).map(({ sharing }) => sharing)
				);
			}),
			{ numRuns: 150, seed: 66 }
		);
	});
});
