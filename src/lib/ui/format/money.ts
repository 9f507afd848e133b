import { formatScaled } from '#lib/domain/quantity/decimal.ts';
import { formatMoney, minorDecimals, type Money } from '#lib/domain/quantity/money.ts';
import { MINUS, MISSING } from './number.ts';

/** The amount alone, `1,234.50`, for columns whose heading names the currency. */
export function amount(value: Money | null | undefined): string {
	return value
		? formatScaled(value.minor, minorDecimals(value.currency)).replace('-', MINUS)
		: MISSING;
}

/** Money with its sign or code, `£1,234.50` or `UGX 12,000`. */
export function money(value: Money | null | undefined): string {
	return value ? formatMoney(value, { symbol: true }).replace('-', MINUS) : MISSING;
}
