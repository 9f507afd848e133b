import {
	forecastDemand,
	MEAN_WEEKS,
	STEPS_AHEAD,
	type DemandForecast,
	type Expected
} from '#lib/domain/demand/forecast.ts';
import type { InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { addWeeks, dayOf, weekOf, weeksBetween } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadDemand, loadProducts, type DemandRow, type Product } from '../store/production.ts';
import { requireSite } from '../store/site.ts';

/** Where what is ordered lies against the forecast's interval. */
export const AGAINST_FORECAST = ['above', 'within', 'below'] as const;
export type AgainstForecast = (typeof AGAINST_FORECAST)[number];

/** The weeks that orders and forecasts are laid out in. */
export interface ForecastWeeks {
	/** Newest week of the history: the last whole week, or the last with orders where records stop before. */
	readonly historyTo: IsoWeek;
	/** Newest week for which any order is recorded. */
	readonly knownTo: IsoWeek;
	/** The first and last week forecast. */
	readonly from: IsoWeek;
	readonly to: IsoWeek;
	/** Whether the records stop before the last whole week. */
	readonly stopsEarly: boolean;
}

/** A product's orders and forecast in one line; masses are roasted grams per week. */
export interface ProductForecast {
	readonly code: string;
	readonly name: string;
	readonly href: string;
	/** Mean of the last weeks of the history. */
	readonly pastG: number;
	/** Mean ordered in the first weeks ahead; null unless orders are recorded up to the last of them. */
	readonly orderedG: number | null;
	/** Null when nothing was ever ordered. */
	readonly forecast: DemandForecast | null;
	readonly against: AgainstForecast | null;
}

export interface DemandPage {
	/** Null when no order is recorded. */
	readonly weeks: ForecastWeeks | null;
	readonly meanWeeks: number;
	readonly products: number;
	readonly rows: readonly ProductForecast[];
}

export interface DemandFilter {
	readonly q: string;
	readonly against: string;
}

/** Every product's orders ahead beside their forecast. */
export async function loadDemandPage(
	db: Reader,
	now: InstantMs,
	filter: DemandFilter
): Promise<DemandPage> {
	const { products, demand, weeks } = await loadOrders(db, now);
	const q = filter.q.toLowerCase();
	const rows = products
		.filter(({ code, name }) => `${code} ${name}`.toLowerCase().includes(q))
		.map((product) => productForecast(product, demand, weeks))
		.filter(({ against }) => filter.against === '' || against === filter.against);
	return { weeks, meanWeeks: MEAN_WEEKS, products: products.length, rows };
}

/** A week of the history. */
export interface PastWeek {
	readonly week: IsoWeek;
	readonly orderedG: number;
	readonly href: string;
}

/** A week ahead; masses are roasted grams. */
export interface WeekAhead {
	readonly week: IsoWeek;
	/** Null beyond the weeks for which orders are recorded. */
	readonly orderedG: number | null;
	readonly expected: Expected | null;
	readonly against: AgainstForecast | null;
	readonly href: string;
}

export interface ProductDemandPage extends ProductForecast {
	readonly weeks: ForecastWeeks | null;
	readonly meanWeeks: number;
	readonly past: readonly PastWeek[];
	readonly ahead: readonly WeekAhead[];
}

/** One product's orders, week by week, and their forecast; null when there is no such product. */
export async function loadProductDemand(
	db: Reader,
	now: InstantMs,
	code: string
): Promise<ProductDemandPage | null> {
	const { products, demand, weeks } = await loadOrders(db, now);
	const product = products.find((each) => each.code === code);
	if (!product) return null;
	const line = productForecast(product, demand, weeks);
	if (weeks === null) return { ...line, weeks, meanWeeks: MEAN_WEEKS, past: [], ahead: [] };
	const own = ordersByWeek(product, demand);
	const ahead = Array.from({ length: STEPS_AHEAD }, (_, step): WeekAhead => {
		const week = addWeeks(weeks.from, step);
		const orderedG = week <= weeks.knownTo ? (own.get(week) ?? 0) : null;
		const expected = line.forecast?.ahead[step] ?? null;
		return {
			week,
			orderedG,
			expected,
			against: against(orderedG, expected),
			href: ordersHref(week)
		};
	});
	return { ...line, weeks, meanWeeks: MEAN_WEEKS, past: pastOf(own, weeks.historyTo), ahead };
}

interface Orders {
	readonly products: readonly Product[];
	readonly demand: readonly DemandRow[];
	readonly weeks: ForecastWeeks | null;
}

async function loadOrders(db: Reader, now: InstantMs): Promise<Orders> {
	const site = await requireSite(db);
	const [products, demand] = await Promise.all([loadProducts(db), loadDemand(db, '')]);
	const knownTo = demand.at(-1)?.week;
	if (knownTo === undefined) return { products, demand, weeks: null };
	const lastWhole = addWeeks(weekOf(dayOf(now, site.timeZone)), -1);
	const stopsEarly = knownTo < lastWhole;
	const historyTo = stopsEarly ? knownTo : lastWhole;
	const from = addWeeks(historyTo, 1);
	const to = addWeeks(historyTo, STEPS_AHEAD);
	return { products, demand, weeks: { historyTo, knownTo, from, to, stopsEarly } };
}

function productForecast(
	product: Product,
	demand: readonly DemandRow[],
	weeks: ForecastWeeks | null
): ProductForecast {
	const line = {
		code: product.code,
		name: product.name,
		href: `/demand/${encodeURIComponent(product.code)}`
	};
	if (weeks === null) return { ...line, pastG: 0, orderedG: null, forecast: null, against: null };
	const own = ordersByWeek(product, demand);
	const forecast = forecastDemand(pastOf(own, weeks.historyTo).map(({ orderedG }) => orderedG));
	const lastOfMean = addWeeks(weeks.from, MEAN_WEEKS - 1);
	const orderedG = weeks.knownTo >= lastOfMean ? meanFrom(own, weeks.from) : null;
	return {
		...line,
		pastG: meanFrom(own, addWeeks(weeks.from, -MEAN_WEEKS)),
		orderedG,
		forecast,
		against: against(orderedG, forecast?.mean ?? null)
	};
}

function ordersByWeek(
	product: Product,
	demand: readonly DemandRow[]
): ReadonlyMap<IsoWeek, number> {
	const own = demand.filter(({ productId }) => productId === product.id);
	return new Map(own.map(({ week, roastedG }) => [week, roastedG]));
}

/** Every week from the first recorded for the product on; a week without a record asked for nothing. */
function pastOf(own: ReadonlyMap<IsoWeek, number>, historyTo: IsoWeek): readonly PastWeek[] {
	const [first] = own.keys();
	const length = first === undefined ? 0 : Math.max(0, weeksBetween(first, historyTo) + 1);
	return Array.from({ length }, (_, i) => {
		const week = addWeeks(first!, i);
		return { week, orderedG: own.get(week) ?? 0, href: ordersHref(week) };
	});
}

/** Mean of the weeks that are forecast as one figure, from a week on. */
function meanFrom(own: ReadonlyMap<IsoWeek, number>, from: IsoWeek): number {
	let sumG = 0;
	for (let i = 0; i < MEAN_WEEKS; i += 1) sumG += own.get(addWeeks(from, i)) ?? 0;
	return sumG / MEAN_WEEKS;
}

function against(orderedG: number | null, expected: Expected | null): AgainstForecast | null {
	if (orderedG === null || !expected?.interval) return null;
	if (orderedG > expected.interval.high) return 'above';
	return orderedG < expected.interval.low ? 'below' : 'within';
}

const ordersHref = (week: IsoWeek) => `/setup/orders?from=${week}`;
