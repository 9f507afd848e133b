import { addDays } from '#lib/domain/quantity/week.ts';
import { dayOfStamp, weekIndexOf } from './calendar.ts';
import { SITE } from './cast.ts';
import { chanceFrom } from './chance.ts';
import type { LotStory } from './story.ts';
import { num, type Cell } from './text.ts';

/** Price terms as agreed with the supplier. Prices and rates are invented. */

export const TERMS_HEADINGS = [
	'lot',
	'agreed_on',
	'basis',
	'price',
	'differential',
	'per',
	'currency',
	'fx_rate',
	'fx_on',
	'incoterm',
	'freight',
	'insurance_pct',
	'duty_pct',
	'port',
	'warehouse',
	'finance_days',
	'finance_rate_pct'
] as const;

/** US dollars a pound: a slow wave with a wander of its own. */
function exchangePrice(week: number): number {
	const wander = chanceFrom(`exchange ${Math.floor(week / 3)}`).between(-0.12, 0.12);
	return 3.15 + 0.45 * Math.sin(week / 11) + wander;
}

/** Site currency for one unit of another. */
export function rateOf(currency: string, week: number): number {
	const wander = chanceFrom(`rate ${currency} ${week}`).between(-0.008, 0.008);
	if (currency === 'USD') return 0.76 + 0.018 * Math.sin(week / 17) + wander;
	if (currency === 'EUR') return 0.855 + 0.012 * Math.sin(week / 23) + wander;
	return 1;
}

export function termsRow(code: string, lot: LotStory): Cell[] {
	const chance = chanceFrom(`terms ${lot.key}`);
	const agreedOn = dayOfStamp(lot.createdAt);
	const week = weekIndexOf(agreedOn);
	const byExchange = lot.chain.pricing === 'exchange';
	const currency = lot.chain.pricing === 'exchange' ? 'USD' : lot.chain.pricing;
	const massKg = lot.bags * lot.chain.bagKg;
	const base = OUTRIGHT_GBP[lot.kind] * chance.between(0.93, 1.08);
	const rate = rateOf(currency, week);
	const delivered = currency === 'GBP';
	const differential =
		lot.kind === 'old crop' ? chance.between(-0.3, -0.12) : chance.between(0.12, 0.55);
	return [
		code,
		agreedOn,
		byExchange ? 'exchange' : 'outright',
		num(byExchange ? exchangePrice(week) : base / rate, byExchange ? 4 : 2),
		byExchange ? num(Math.round(differential * 100) / 100, 2) : '0',
		byExchange ? 'lb' : 'kg',
		currency,
		num(rate, 4),
		currency === SITE.currency ? agreedOn : addDays(agreedOn, -1),
		byExchange ? 'FOB' : delivered ? 'DAP' : 'FOB',
		delivered ? '0' : num(massKg * chance.between(0.16, 0.24) + 60, 2),
		delivered ? '0' : num(0.3, 2),
		'0',
		delivered ? '0' : num(85 + massKg * 0.035, 2),
		num(18 + massKg * chance.between(0.04, 0.07), 2),
		byExchange ? 60 : 30,
		num(7.25, 2)
	];
}

/** Middle outright price of a kind, pounds sterling a kilogram. */
const OUTRIGHT_GBP: Readonly<Record<LotStory['kind'], number>> = {
	washed: 8.2,
	natural: 8.6,
	honey: 8.9,
	decaf: 8.4,
	'old crop': 5.4,
	anaerobic: 13.5
};
