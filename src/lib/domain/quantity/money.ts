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
