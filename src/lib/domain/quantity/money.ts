import {
	assertInteger,
	formatScaled,
	parseScaled,
	powerOfTen,
	ratio,
	roundRatio,
	times,
	type Ratio,
	type Rounding
} from './decimal.ts';
import { bad, good, type Outcome } from './problem.ts';
import { splitWhole } from './share.ts';

/**
 * Money is an integer number of minor units with its ISO 4217 currency. It is never a float of major
 * units; rounding happens once, where a document is made.
 */

/** ISO 4217 alphabetic code, `GBP`. */
export type Currency = string;

/** An amount in the currency's minor unit (pence, cents). `minor` is a safe integer. */
export interface Money {
	readonly minor: number;
	readonly currency: Currency;
}

/**
 * Decimals of the minor unit by currency, from the ISO 4217 list published 2024-06-25. Currencies not
 * named here have two. Number formatters disagree with the standard (COP, IDR, LAK, YER and others),
 * so this table is the only authority.
 */
const UNUSUAL_DECIMALS: ReadonlyMap<Currency, number> = new Map([
	...codes('BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF', 0),
	...codes('BHD IQD JOD KWD LYD OMR TND', 3),
	...codes('CLF UYW', 4)
]);

/** Two-decimal currencies of ISO 4217; funds, metals and test codes are left out. */
const USUAL = new Set(
	(
		'AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BRL BSD BTN BWP BYN BZD ' +
		'CAD CDF CHF CNY COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD ' +
		'GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD ' +
		'MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP ' +
		'PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS ' +
		'TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES WST XCD YER ZAR ZMW ZWG'
	).split(' ')
);

/** Signs that are read the same everywhere; any other currency is shown by its code. */
const SIGNS: ReadonlyMap<Currency, string> = new Map([
	['GBP', '£'],
	['EUR', '€'],
	['USD', '$'],
	['JPY', '¥']
]);

/** Whether a text is a currency code that can be used. */
export function isCurrency(text: string): boolean {
	return USUAL.has(text) || UNUSUAL_DECIMALS.has(text);
}

/** Checks a currency code, case and spaces forgiven. */
export function parseCurrency(text: string, path = 'currency'): Outcome<Currency> {
	const code = text.trim().toUpperCase();
	if (isCurrency(code)) return good(code);
	return bad({ path, message: `found "${text}", expected an ISO 4217 code such as GBP or USD` });
}

/**
 * Decimals of the currency's minor unit: 2 for GBP, 0 for UGX, 3 for KWD.
 * @throws RangeError for an unknown code
 */
export function minorDecimals(currency: Currency): number {
	if (!isCurrency(currency)) throw new RangeError(`"${currency}" is not an ISO 4217 currency`);
	return UNUSUAL_DECIMALS.get(currency) ?? 2;
}

/**
 * An amount of minor units.
 * @throws RangeError when `minor` is not a safe integer or the currency is unknown
 */
export function money(minor: number, currency: Currency): Money {
	assertInteger(minor, `an amount of ${currency}`);
	minorDecimals(currency);
	return { minor: minor === 0 ? 0 : minor, currency };
}

/** Nothing, in a currency. */
export function zero(currency: Currency): Money {
	return money(0, currency);
}

/** @throws RangeError when the currencies differ */
export function add(a: Money, b: Money): Money {
	sameCurrency(a, b);
	return money(a.minor + b.minor, a.currency);
}

/** `a - b`. @throws RangeError when the currencies differ */
export function subtract(a: Money, b: Money): Money {
	return add(a, negate(b));
}

/** The amount with the other sign. */
export function negate(amount: Money): Money {
	return money(-amount.minor, amount.currency);
}

/** The sum of amounts in one currency; zero of it when there are none. */
export function sum(amounts: Iterable<Money>, currency: Currency): Money {
	let total = zero(currency);
	for (const amount of amounts) total = add(total, amount);
	return total;
}

/** Negative, zero or positive as `a` is less than, equal to or more than `b`. */
export function compare(a: Money, b: Money): number {
	sameCurrency(a, b);
	return a.minor - b.minor;
}

/** The amount times an exact ratio, rounded once to the minor unit. */
export function scale(amount: Money, factor: Ratio, rounding: Rounding = 'half up'): Money {
	return money(roundRatio(times(ratio(amount.minor), factor), rounding), amount.currency);
}

/**
 * Minor units in `currency` of an exact amount of its major unit, rounded once.
 * @param major exact amount, for instance kilograms times a price
 */
export function fromMajor(major: Ratio, currency: Currency, rounding: Rounding = 'half up'): Money {
	const perMajor = ratio(powerOfTen(minorDecimals(currency)));
	return money(roundRatio(times(major, perMajor), rounding), currency);
}

/** The exact amount of major units. */
export function toMajor(amount: Money): Ratio {
	return ratio(BigInt(amount.minor), powerOfTen(minorDecimals(amount.currency)));
}

/**
 * The amount in another currency, rounded once to its minor unit.
 * @param rateE6 millionths of one `to` unit for one unit of the amount's currency (major units)
 */
export function convert(
	amount: Money,
	rateE6: number,
	to: Currency,
	rounding: Rounding = 'half up'
): Money {
	if (rateE6 <= 0) throw new RangeError(`an exchange rate must be above zero, found ${rateE6} E6`);
	return fromMajor(times(toMajor(amount), ratio(rateE6, 1_000_000)), to, rounding);
}

/** Splits an amount by weights so that the parts sum to it, by largest remainder (`splitWhole`). */
export function allocate(amount: Money, weights: readonly number[]): Money[] {
	return splitWhole(amount.minor, weights).map((minor) => money(minor, amount.currency));
}

/**
 * Decimal text in major units to money: `1234.56` of GBP is 123456 pence. Refuses more decimals than
 * the currency has, grouping and decimal commas.
 */
export function parseMoney(text: string, currency: Currency, path = 'amount'): Outcome<Money> {
	const minor = parseScaled(text, minorDecimals(currency), path);
	return minor.ok ? good(money(minor.value, currency)) : minor;
}

/**
 * Money as text, the same on every machine: `GBP 1,234.56`, or with the sign `£1,234.56`. Currencies
 * without a sign of their own keep the code.
 */
export function formatMoney(amount: Money, options: { readonly symbol?: boolean } = {}): string {
	const digits = formatScaled(Math.abs(amount.minor), minorDecimals(amount.currency));
	return withCurrency(digits, amount.minor < 0, amount.currency, options.symbol ?? false);
}

/** A price kept in ten-thousandths of the major unit as text: `£6.4097`. No unit is added. */
export function formatPriceE4(
	priceE4: number,
	currency: Currency,
	options: { readonly symbol?: boolean; readonly decimals?: number } = {}
): string {
	const digits = formatScaled(Math.abs(priceE4), 4, options.decimals ?? 4);
	return withCurrency(digits, priceE4 < 0, currency, options.symbol ?? false);
}

function withCurrency(digits: string, negative: boolean, currency: Currency, symbol: boolean) {
	const sign = symbol ? SIGNS.get(currency) : undefined;
	return (negative ? '-' : '') + (sign ?? `${currency} `) + digits;
}

function sameCurrency(a: Money, b: Money): void {
	if (a.currency !== b.currency) {
		throw new RangeError(`${a.currency} and ${b.currency} can't be put together without a rate`);
	}
}

function codes(list: string, decimals: number): [Currency, number][] {
	return list.split(' ').map((code) => [code, decimals]);
}
