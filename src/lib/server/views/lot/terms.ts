import type { LandedCost } from '#lib/domain/cost/landed.ts';
import { formatTrimmed } from '#lib/domain/quantity/decimal.ts';
import { formatKg } from '#lib/domain/quantity/mass.ts';
import { formatMoney, formatPriceE4, money } from '#lib/domain/quantity/money.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { dayOf } from '#lib/domain/quantity/week.ts';
import { BY_THE_TABLE } from '../../db/schema.ts';
import type { PriceTermsRow } from '../../store/lots.ts';

/** Price terms in words. */
export interface TermsInWords {
	readonly agreedOn: Day;
	readonly recordedOn: Day;
	readonly by: string;
	/** `USD 2.10 + 0.35 a lb, exchange`. */
	readonly price: string;
	readonly incoterm: string;
	/** `0.79 on 2026-11-01, as stated`; null in the site's own currency. */
	readonly exchangeRate: string | null;
	readonly charges: readonly string[];
}

export interface LotTerms {
	/** The newest count. */
	readonly now: TermsInWords | null;
	readonly earlier: readonly TermsInWords[];
	readonly landed: LandedCost | null;
	/** Landed cost of a kilogram, `£6.4097`. */
	readonly perKg: string | null;
	/** Whether the cost is spread over weighed coffee; else over what is expected. */
	readonly isWeighed: boolean;
}

/** What a lot was bought on and what it costs in the store. `rows` newest first. */
export function lotTerms(
	rows: readonly PriceTermsRow[],
	landed: LandedCost | undefined,
	isWeighed: boolean,
	site: { readonly currency: string; readonly timeZone: string }
): LotTerms {
	const [now, ...earlier] = rows.map((row) => inWords(row, site));
	return {
		now: now ?? null,
		earlier,
		landed: landed ?? null,
		perKg: landed ? formatPriceE4(landed.perKgE4, landed.currency, { symbol: true }) : null,
		isWeighed
	};
}

function inWords(
	row: PriceTermsRow,
	site: { readonly currency: string; readonly timeZone: string }
): TermsInWords {
	const charge = (label: string, minor: number, currency: string) =>
		minor === 0 ? [] : [`${label} ${formatMoney(money(minor, currency))}`];
	const share = (label: string, ppm: number) =>
		ppm === 0 ? [] : [`${label} ${formatTrimmed(ppm, 4)} %`];
	return {
		agreedOn: row.agreedOn,
		recordedOn: dayOf(row.recordedAt, site.timeZone),
		by: row.by,
		price: priceText(row),
		incoterm: row.incoterm,
		exchangeRate: row.currency === site.currency ? null : rateInWords(row),
		charges: [
			...charge('freight', row.freightMinor, row.currency),
			...share('insurance', row.insurancePpm),
			...share('duty', row.dutyPpm),
			...charge('port', row.portMinor, site.currency),
			...charge('warehouse', row.warehouseMinor, site.currency),
			...(row.financeDays > 0 && row.financeRatePpm > 0
				? [`financed ${row.financeDays} days at ${formatTrimmed(row.financeRatePpm, 4)} % a year`]
				: []),
			...(row.shippedG === null ? [] : [`${formatKg(row.shippedG)} shipped`]),
			...(row.franchisePpm === null
				? []
				: [`weight franchise ${formatTrimmed(row.franchisePpm, 4)} %`])
		]
	};
}

/** The stated rate wins over the table of rates. */
function rateInWords({ fxE6, fxOn }: PriceTermsRow): string {
	return fxE6 === BY_THE_TABLE
		? `of the fixing day, ${fxOn}`
		: `${formatTrimmed(fxE6, 6, 2)} on ${fxOn}, as stated`;
}

/** `USD 2.10 + 0.35 a lb, exchange`. */
export function priceText(row: PriceTermsRow): string {
	const sign = row.differentialE4 < 0 ? '-' : '+';
	const differential =
		row.basis === 'exchange' ? ` ${sign} ${formatTrimmed(Math.abs(row.differentialE4), 4, 2)}` : '';
	const price = `${row.currency} ${formatTrimmed(row.priceE4, 4, 2)}${differential}`;
	return `${price} a ${row.per}, ${row.basis}`;
}
