import type { Money } from '#lib/domain/quantity/money.ts';
import { fixed, MINUS, MISSING, THIN } from './number.ts';

/**
 * Money without its currency, `1 234.50`: digits are placed, never divided, so no float is made.
 * `digits` is the currency's number of minor digits (ISO 4217): 2 for GBP, 0 for JPY.
 */
export function amount(money: Money | null | undefined, digits: number): string {
	if (!money) return MISSING;
	const text = String(Math.abs(money.minor)).padStart(digits + 1, '0');
	const whole = fixed(Number(text.slice(0, text.length - digits)));
	const sign = money.minor < 0 ? MINUS : '';
	return digits === 0 ? `${sign}${whole}` : `${sign}${whole}.${text.slice(-digits)}`;
}

/** Money with its currency code, `GBP 1 234.50`. */
export function money(value: Money | null | undefined, digits: number): string {
	return value ? `${value.currency}${THIN}${amount(value, digits)}` : MISSING;
}
