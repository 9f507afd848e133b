import { formatTrimmed, plus, type Ratio, ratio, roundRatio, times } from '../quantity/decimal.ts';
import { formatKg } from '../quantity/mass.ts';
import {
	type Currency,
	formatMoney,
	formatPriceE4,
	fromMajor,
	type Money,
	money,
	sum,
	toMajor,
	zero
} from '../quantity/money.ts';
import { statedRate, type UsedRate } from './fx.ts';
import {
	buyerPays,
	type Charge,
	CHARGES,
	type PriceTerms,
	pricePerKg,
	whyCharged
} from './terms.ts';

/**
 * What a lot costs when it lies in the store.
 *
 * 1. The price is due on the shipped mass, where the terms tell it; the cost is spread over the received mass, so a loss in
 *    weight on the way makes each kilogram dearer.
 * 2. The incoterm says which charges come on top; one that the price covers is shown and not added.
 * 3. The premium is on CIF plus 10 %, and CIF holds the premium: premium = (goods + freight) *
 *    1.1 r / (1 - 1.1 r).
 * 4. Duty and interest are on the value at the border: goods, freight and insurance as far as the buyer
 *    pays them; the price covers the rest.
 * 5. What is lost on the way beyond the weight franchise is claimed back at the price: a line of its
 *    own, below zero. Without a franchise nothing is claimed.
 * 6. A foreign price is turned into the site's currency at the rate that the terms state; where they
 *    state none, at the rate of their fixing day.
 * 7. Everything before the line is exact; each line is rounded once, half up, to the site's minor unit,
 *    and the total is the sum of the lines.
 */

/** Basis of a year for interest: days over 360, as money markets and trade finance do, or over 365. */
export type DayCount = 'actual/360' | 'actual/365';

export interface LandedBasis {
	/** The site's currency. */
	readonly currency: Currency;
	/** Green grams on the seller's invoice; the terms' shipped mass, else the received, when left out. */
	readonly invoicedG?: number;
	/** Rate of the terms' fixing day (`rateOfDay`), for foreign terms that state none (rule 6). */
	readonly rate?: UsedRate;
	/** `actual/360` when left out. */
	readonly dayCount?: DayCount;
}

/** What a landed cost is made of. */
export type LandedItem = 'goods' | 'weight claim' | Charge | 'other' | 'credit note';

export interface LandedLine {
	readonly item: LandedItem;
	readonly label: string;
	/** In the site's currency. Zero when the seller's price covers the item. */
	readonly money: Money;
	readonly howWorked: string;
	/** Once invoices replaced it: what the terms led to expect; null where they named no such thing. */
	readonly estimate?: Money | null;
}

export interface LandedCost {
	readonly lines: readonly LandedLine[];
	readonly total: Money;
	/** Ten-thousandths of the site's major unit for one received kilogram, rounded half up. */
	readonly perKgE4: number;
	readonly currency: Currency;
	readonly receivedG: number;
	readonly invoicedG: number;
}

/** What every line is worked out from. Amounts are exact major units of the price's currency. */
interface Sheet {
	readonly terms: PriceTerms;
	readonly site: Currency;
	readonly dayCount: DayCount;
	readonly invoicedG: number;
	readonly goods: Ratio;
	readonly freight: Ratio;
	readonly insurance: Ratio;
	/** Goods, freight and insurance together (rule 4). */
	readonly border: Ratio;
	/** Site's units for one of the price's. */
	readonly fx: UsedRate;
}

/** What each item is called. */
export const ITEM_LABELS: { readonly [item in LandedItem]: string } = {
	goods: 'Coffee',
	'weight claim': 'Weight claim',
	freight: 'Freight',
	insurance: 'Insurance',
	duty: 'Duty',
	port: 'Port and clearing',
	warehouse: 'Warehouse',
	finance: 'Finance',
	other: 'Other costs',
	'credit note': 'Credit note'
};
const NOTHING = ratio(0);

/**
 * The landed cost of a lot, line by line, in the site's currency.
 * @param terms terms that pass `checkTerms`
 * @param receivedG green grams weighed in; the expected mass while the lot is on its way
 * @throws RangeError when a mass is not a whole number of grams above zero
 */
export function landedCost(terms: PriceTerms, receivedG: number, basis: LandedBasis): LandedCost {
	const invoicedG = basis.invoicedG ?? terms.shippedG ?? receivedG;
	for (const mass of [receivedG, invoicedG]) {
		if (!Number.isSafeInteger(mass) || mass <= 0) {
			throw new RangeError(`a landed cost needs whole grams above zero, found ${mass}`);
		}
	}
	const sheet = sheetOf(terms, invoicedG, basis);
	const lines = [
		goodsLine(sheet),
		...claimLine(sheet, receivedG),
		...CHARGES.flatMap((charge) => chargeLine(sheet, charge))
	];
	return landedOf(lines, { currency: basis.currency, receivedG, invoicedG });
}

/** Lines put together: their total, and a received kilogram's part of it. */
export function landedOf(
	lines: readonly LandedLine[],
	{ currency, receivedG, invoicedG }: Pick<LandedCost, 'currency' | 'receivedG' | 'invoicedG'>
): LandedCost {
	const total = sum(
		lines.map((line) => line.money),
		currency
	);
	const perKg = times(toMajor(total), ratio(10_000_000, receivedG));
	return { lines, total, perKgE4: roundRatio(perKg), currency, receivedG, invoicedG };
}

function sheetOf(terms: PriceTerms, invoicedG: number, basis: LandedBasis): Sheet {
	const goods = times(pricePerKg(terms), ratio(invoicedG, 1000));
	const freight = buyerPays('freight', terms.incoterm)
		? toMajor(money(terms.freightMinor, terms.currency))
		: NOTHING;
	const insurance = buyerPays('insurance', terms.incoterm)
		? premium(plus(goods, freight), terms.insurancePpm)
		: NOTHING;
	return {
		terms,
		site: basis.currency,
		dayCount: basis.dayCount ?? 'actual/360',
		invoicedG,
		goods,
		freight,
		insurance,
		border: plus(goods, freight, insurance),
		fx: fxOf(terms, basis)
	};
}

/** Rule 6. */
function fxOf({ currency, fxE6, fxOn }: PriceTerms, basis: LandedBasis): UsedRate {
	if (currency === basis.currency) return { rate: ratio(1), words: '' };
	if (fxE6 !== null) return statedRate(currency, basis.currency, fxE6, fxOn);
	if (basis.rate) return basis.rate;
	throw new RangeError(`a price in ${currency} needs a rate to ${basis.currency} on ${fxOn}`);
}

/** Grams lost beyond the weight franchise, not below zero; none where nothing is claimed (rule 5). */
export function claimableG(
	{ shippedG = null, franchisePpm = null }: Pick<PriceTerms, 'shippedG' | 'franchisePpm'>,
	receivedG: number
): number {
	if (shippedG === null || franchisePpm === null) return 0;
	const bornG = roundRatio(times(ratio(shippedG), ratio(franchisePpm, 1_000_000)));
	return Math.max(0, shippedG - receivedG - bornG);
}

function claimLine(sheet: Sheet, receivedG: number): LandedLine[] {
	const { terms } = sheet;
	const massG = claimableG(terms, receivedG);
	if (massG === 0) return [];
	const value = times(pricePerKg(terms), ratio(-massG, 1000));
	const lostG = (terms.shippedG ?? 0) - receivedG;
	return [
		{
			item: 'weight claim',
			label: ITEM_LABELS['weight claim'],
			money: atSite(sheet, value),
			howWorked: `${formatKg(lostG)} of ${formatKg(terms.shippedG ?? 0)} lost on the way, ${formatKg(massG)} beyond the ${percent(terms.franchisePpm ?? 0)} franchise at ${priceText(terms)} = ${shown(sheet, value)}${rateText(sheet)}`
		}
	];
}

/** Rule 3; `1.1 r` is `11 ppm / 10,000,000`. */
function premium(value: Ratio, ppm: number): Ratio {
	return times(value, ratio(11 * ppm, 10_000_000 - 11 * ppm));
}

function goodsLine(sheet: Sheet): LandedLine {
	const { terms, goods, invoicedG } = sheet;
	const mass =
		terms.per === 'bag'
			? `${formatKg(invoicedG)} in bags of ${formatKg(terms.bagG)}`
			: formatKg(invoicedG);
	return {
		item: 'goods',
		label: ITEM_LABELS.goods,
		money: atSite(sheet, goods),
		howWorked: `${mass} at ${priceText(terms)} = ${shown(sheet, goods)}${rateText(sheet)}`
	};
}

/** A charge's line; none when the terms name no such charge. */
function chargeLine(sheet: Sheet, charge: Charge): LandedLine[] {
	const { terms, site } = sheet;
	if (!isNamed(terms, charge)) return [];
	const line = { item: charge, label: ITEM_LABELS[charge] };
	if (!buyerPays(charge, terms.incoterm)) {
		return [{ ...line, money: zero(site), howWorked: whyCharged(charge, terms.incoterm) }];
	}
	return [{ ...line, ...chargeAmount(sheet, charge) }];
}

function isNamed(terms: PriceTerms, charge: Charge): boolean {
	switch (charge) {
		case 'freight':
			return terms.freightMinor !== 0;
		case 'insurance':
			return terms.insurancePpm !== 0;
		case 'duty':
			return terms.dutyPpm !== 0;
		case 'port':
			return terms.portMinor !== 0;
		case 'warehouse':
			return terms.warehouseMinor !== 0;
		case 'finance':
			return terms.financeDays !== 0 && terms.financeRatePpm !== 0;
	}
}

function chargeAmount(sheet: Sheet, charge: Charge): Pick<LandedLine, 'money' | 'howWorked'> {
	const { terms, site, freight, insurance, border } = sheet;
	const worked = (value: Ratio, how: string) => ({
		money: atSite(sheet, value),
		howWorked: `${how} = ${shown(sheet, value)}${rateText(sheet)}`
	});
	switch (charge) {
		case 'freight':
			return {
				money: atSite(sheet, freight),
				howWorked: `${shown(sheet, freight)}${rateText(sheet)}`
			};
		case 'insurance':
			return worked(
				insurance,
				`${percent(terms.insurancePpm)} of CIF ${shown(sheet, border)} plus 10 %`
			);
		case 'duty':
			return worked(
				times(border, ratio(terms.dutyPpm, 1_000_000)),
				`${percent(terms.dutyPpm)} of ${shown(sheet, border)} at the border`
			);
		case 'port':
			return { money: money(terms.portMinor, site), howWorked: 'as charged' };
		case 'warehouse':
			return { money: money(terms.warehouseMinor, site), howWorked: 'as charged' };
		case 'finance':
			return worked(
				interest(sheet),
				`${percent(terms.financeRatePpm)} a year on ${shown(sheet, border)} for ${terms.financeDays} days, ${sheet.dayCount}`
			);
	}
}

function interest({ terms, border, dayCount }: Sheet): Ratio {
	const year = dayCount === 'actual/360' ? 360 : 365;
	return times(border, ratio(terms.financeRatePpm, 1_000_000), ratio(terms.financeDays, year));
}

/** An exact amount of the price's currency at the site, rounded once (rule 7). */
function atSite({ fx, site }: Sheet, value: Ratio): Money {
	return fromMajor(times(value, fx.rate), site);
}

/** An amount of the price's currency for a person; the sum goes on with the exact one. */
function shown({ terms }: Sheet, value: Ratio): string {
	return formatMoney(fromMajor(value, terms.currency));
}

function priceText({ basis, priceE4, differentialE4, per, currency }: PriceTerms): string {
	const price = formatTrimmed(priceE4, 4, 2);
	if (basis === 'outright') return `${currency} ${price} a ${per}`;
	const sign = differentialE4 < 0 ? '-' : '+';
	const differential = formatTrimmed(Math.abs(differentialE4), 4, 2);
	return `${currency} ${price} ${sign} ${differential} a ${per}`;
}

function rateText({ terms, site, fx }: Sheet): string {
	return terms.currency === site ? '' : `; ${fx.words}`;
}

function percent(ppm: number): string {
	return `${formatTrimmed(ppm, 4)} %`;
}

/** Landed cost of a kilogram as text: `GBP 6.4097 a kg`. */
export function perKgText({ perKgE4, currency }: Pick<LandedCost, 'perKgE4' | 'currency'>): string {
	return `${formatPriceE4(perKgE4, currency)} a kg`;
}
