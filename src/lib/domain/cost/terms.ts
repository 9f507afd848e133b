import { assertInteger, type Ratio, ratio } from '../quantity/decimal.ts';
import { GRAMS_PER_POUND } from '../quantity/mass.ts';
import { type Currency, isCurrency } from '../quantity/money.ts';
import { bad, good, type Outcome, type Problem } from '../quantity/problem.ts';
import type { Day } from '../quantity/time.ts';

/** The price terms a lot was bought on. */

export const PRICE_BASES = ['exchange', 'outright'] as const;
export type PriceBasis = (typeof PRICE_BASES)[number];

export const PRICE_UNITS = ['lb', 'kg', 'bag', 'tonne'] as const;
export type PriceUnit = (typeof PRICE_UNITS)[number];

/** Those of Incoterms 2020 that green coffee is usually bought on. */
export const INCOTERMS = ['EXW', 'FOB', 'CFR', 'CIF', 'DAP', 'DDP'] as const;
export type Incoterm = (typeof INCOTERMS)[number];

export interface PriceTerms {
	readonly basis: PriceBasis;
	/** Exchange or outright price, ten-thousandths of a major unit for one `per`: 250 c/lb is 25000. */
	readonly priceE4: number;
	/** Added to an exchange price, may be negative; 0 for an outright price. */
	readonly differentialE4: number;
	readonly per: PriceUnit;
	/** Green grams in a bag. */
	readonly bagG: number;
	/** Currency of the price and the freight. */
	readonly currency: Currency;
	/**
	 * Millionths of one unit of the site's currency for one unit of the price's currency, as agreed; null
	 * where the table of rates tells it.
	 */
	readonly fxE6: number | null;
	/** The day of that rate: the day on which the price is fixed. */
	readonly fxOn: Day;
	readonly incoterm: Incoterm;
	/** Freight of the whole lot in the price's currency. */
	readonly freightMinor: number;
	/** Insurance premium, millionths of CIF value plus 10 %. */
	readonly insurancePpm: number;
	/** Duty, millionths of the CIF value. */
	readonly dutyPpm: number;
	/** Port and clearing charges of the whole lot in the site's currency. */
	readonly portMinor: number;
	/** Warehouse charges of the whole lot in the site's currency. */
	readonly warehouseMinor: number;
	/** Days the CIF value is financed for. */
	readonly financeDays: number;
	/** Yearly interest, millionths. */
	readonly financeRatePpm: number;
	/** Green grams on the shipping document, which are paid; null or left out: what was received. */
	readonly shippedG?: number | null;
	/**
	 * Loss in weight that the buyer bears, millionths of the shipped mass; what is lost beyond it is
	 * claimed back. Null or left out: nothing is claimed.
	 */
	readonly franchisePpm?: number | null;
}

/** Costs that may come on top of the price. */
export type Charge = 'freight' | 'insurance' | 'duty' | 'port' | 'warehouse' | 'finance';

/**
 * What the seller's price covers, after Incoterms 2020 (from memory): carriage from CFR on, insurance from
 * CIF on, unloading and port under delivery, import duty only under DDP. Storing and financing are always
 * the buyer's.
 */
const IN_THE_PRICE: { readonly [term in Incoterm]: readonly Charge[] } = {
	EXW: [],
	FOB: [],
	CFR: ['freight'],
	CIF: ['freight', 'insurance'],
	DAP: ['freight', 'insurance', 'port'],
	DDP: ['freight', 'insurance', 'port', 'duty']
};

/** Charges that only terms decide, in the order of a landed cost. */
export const CHARGES: readonly Charge[] = [
	'freight',
	'insurance',
	'duty',
	'port',
	'warehouse',
	'finance'
];

/** Whether the buyer pays a charge on top of the price. */
export function buyerPays(charge: Charge, incoterm: Incoterm): boolean {
	return !IN_THE_PRICE[incoterm].includes(charge);
}

/** Why a charge comes on top of the price or not, as a person would say it. */
export function whyCharged(charge: Charge, incoterm: Incoterm): string {
	if (!buyerPays(charge, incoterm)) return `in the price under ${incoterm}`;
	if (charge === 'warehouse' || charge === 'finance') return "always the buyer's";
	return `the buyer pays it under ${incoterm}`;
}

/** Grams in one priced unit, exact. */
export function unitG({ per, bagG }: Pick<PriceTerms, 'per' | 'bagG'>): Ratio {
	switch (per) {
		case 'lb':
			return GRAMS_PER_POUND;
		case 'kg':
			return ratio(1000);
		case 'tonne':
			return ratio(1_000_000);
		case 'bag':
			return ratio(bagG);
	}
}

/** Price and differential together, ten-thousandths of a major unit for one priced unit. */
export function fullPriceE4({ priceE4, differentialE4 }: PriceTerms): number {
	return priceE4 + differentialE4;
}

/** The price of one kilogram in major units of the price's currency, exact. */
export function pricePerKg(terms: PriceTerms): Ratio {
	const unit = unitG(terms);
	return ratio(BigInt(fullPriceE4(terms)) * 1000n * unit.den, 10_000n * unit.num);
}

/**
 * Checks terms before they are recorded.
 * @param siteCurrency the currency costs are kept in
 * @throws RangeError when a figure is not a safe integer: texts are parsed before they come here
 */
export function checkTerms(terms: PriceTerms, siteCurrency: Currency): Outcome<PriceTerms> {
	for (const [field, value] of Object.entries(terms)) {
		if (typeof value === 'number') assertInteger(value, field);
	}
	const problems = [
		...priceProblems(terms),
		...rateProblems(terms, siteCurrency),
		...chargeProblems(terms),
		...coveredProblems(terms),
		...weightProblems(terms)
	];
	return problems.length === 0 ? good(terms) : bad(...problems);
}

function priceProblems(terms: PriceTerms): Problem[] {
	const problems: Problem[] = [];
	if (terms.basis === 'outright' && terms.differentialE4 !== 0) {
		const message = 'an outright price has no differential; expected 0';
		problems.push({ path: 'differentialE4', message });
	}
	if (fullPriceE4(terms) <= 0) {
		const message = 'price and differential come to nothing or less, expected a price above zero';
		problems.push({ path: 'priceE4', message });
	}
	if (terms.bagG <= 0) {
		problems.push({ path: 'bagG', message: `found a bag of ${terms.bagG} g, expected above zero` });
	}
	return problems;
}

function rateProblems({ currency, fxE6 }: PriceTerms, siteCurrency: Currency): Problem[] {
	if (!isCurrency(currency)) {
		const message = `found "${currency}", expected an ISO 4217 code such as GBP or USD`;
		return [{ path: 'currency', message }];
	}
	if (fxE6 === null) return [];
	if (fxE6 <= 0) return [{ path: 'fxE6', message: 'expected an exchange rate above zero' }];
	if (currency === siteCurrency && fxE6 !== 1_000_000) {
		const message = `the price is in ${siteCurrency} already, expected an exchange rate of 1`;
		return [{ path: 'fxE6', message }];
	}
	return [];
}

const CHARGE_FIELDS = {
	freightMinor: 'freight',
	insurancePpm: 'insurance',
	dutyPpm: 'duty',
	portMinor: 'port charges',
	warehouseMinor: 'warehouse charges',
	financeDays: 'finance days',
	financeRatePpm: 'finance rate'
} as const;

const CHARGE_FIELD: { readonly [charge in Charge]?: keyof typeof CHARGE_FIELDS } = {
	freight: 'freightMinor',
	insurance: 'insurancePpm',
	duty: 'dutyPpm',
	port: 'portMinor'
};

/** A charge that the price covers is not stated again: it would be paid twice, or not at all. */
function coveredProblems(terms: PriceTerms): Problem[] {
	return CHARGES.flatMap((charge) => {
		const path = CHARGE_FIELD[charge];
		if (path === undefined || buyerPays(charge, terms.incoterm) || terms[path] <= 0) return [];
		const message = `found ${CHARGE_FIELDS[path]} beside ${terms.incoterm}, whose price covers it; expected 0`;
		return [{ path, message }];
	});
}

function weightProblems({ shippedG = null, franchisePpm = null }: PriceTerms): Problem[] {
	const problems: Problem[] = [];
	if (shippedG !== null && shippedG <= 0)
		problems.push({ path: 'shippedG', message: 'expected a shipped mass above zero' });
	if (franchisePpm !== null && (franchisePpm < 0 || franchisePpm > 100_000))
		problems.push({
			path: 'franchisePpm',
			message: 'expected a weight franchise from 0 to 10 % (0.5 % is usual)'
		});
	if (franchisePpm !== null && shippedG === null)
		problems.push({
			path: 'shippedG',
			message: 'found a weight franchise without the shipped mass that it is of'
		});
	return problems;
}

function chargeProblems(terms: PriceTerms): Problem[] {
	const fields = Object.keys(CHARGE_FIELDS) as (keyof typeof CHARGE_FIELDS)[];
	const negative = fields
		.filter((field) => terms[field] < 0)
		.map((path) => ({ path, message: `found ${CHARGE_FIELDS[path]} below zero` }));
	// 110 % of a premium of 90 % would be nearly the value itself: certainly a slip of the decimal point.
	const absurd = (['insurancePpm', 'dutyPpm', 'financeRatePpm'] as const)
		.filter((field) => terms[field] >= 900_000)
		.map((path) => ({ path, message: `found ${CHARGE_FIELDS[path]} of 90 % or more` }));
	return [...negative, ...absurd];
}
