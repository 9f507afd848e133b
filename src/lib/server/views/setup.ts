import { formatScaled, formatTrimmed } from '#lib/domain/quantity/decimal.ts';
import { minorDecimals, money } from '#lib/domain/quantity/money.ts';
import type { Day, InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { addWeeks, dayOf, isWeek, weekOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { TABLES, type TableFile } from '../imports/tables.ts';
import { loadActsOf } from '../store/acts.ts';
import { loadLots, type Lot } from '../store/lots.ts';
import {
	loadBlendParts,
	loadDemand,
	loadProducts,
	type BlendPart,
	type Product
} from '../store/production.ts';
import {
	loadCostRates,
	loadRoasters,
	loadShifts,
	loadSite,
	requireSite,
	type CostRate,
	type Roaster,
	type Shift,
	type Site
} from '../store/site.ts';
import { rateOn } from './costing.ts';
import { momentOf, type Moment } from './moment.ts';
import { blendIn } from './roastery.ts';

/** What the pages of Setup show: the standing records, as texts that their forms take back. */

/** Values of a form's fields by the headings of their table. */
export type Fields = Readonly<Record<string, string>>;

/** What a new site starts from: common practice, no source; each can be changed. */
export const NEW_SITE: Fields = {
	name: '',
	currency: 'GBP',
	altitude_m: '0',
	release_lead_days: '5',
	cupping_lag_hours: '24',
	test_cycle_days: '5',
	supplier_lead_days: '60'
};

/** Every time zone the machine knows, and the one that it stands in. */
export function loadZones(): { zones: readonly string[]; here: string } {
	const here = new Intl.DateTimeFormat('en-GB').resolvedOptions().timeZone;
	const zones = new Set(['UTC', here, ...Intl.supportedValuesOf('timeZone')]);
	return { zones: [...zones].sort(), here };
}

/** One thing that has to be there before the pages can answer. */
export interface SetupStep {
	readonly title: string;
	readonly done: boolean;
	/** What is there, or what its lack means. */
	readonly words: string;
	readonly href: string;
}

/** What is set up and what is missing, in the order in which it is needed. */
export async function loadSetupSteps(db: Reader, now: InstantMs): Promise<readonly SetupStep[]> {
	const site = await requireSite(db);
	const today = dayOf(now, site.timeZone);
	const [roasters, shifts, rates, products, lots, blends, demand] = await Promise.all([
		loadRoasters(db),
		loadShifts(db),
		loadCostRates(db),
		loadProducts(db),
		loadLots(db),
		loadBlendParts(db),
		loadDemand(db, weekOf(today))
	]);
	const without = (has: (roaster: Roaster) => boolean) =>
		roasters.filter((roaster) => !has(roaster)).map((roaster) => roaster.code);
	const idle = without((r) => shifts.some((s) => s.roasterId === r.id));
	const unpriced = without((r) => rateOn(rates, r.id, today) !== undefined);
	const unmade = products.filter((p) => !blends.some((b) => b.productId === p.id));
	const first = roasters.length > 0 ? `/setup/roasters/${roasters[0]!.code}` : '/setup/roasters';
	return [
		step('Site', true, `${site.name}, ${site.timeZone}, ${site.currency}`, '/setup/site'),
		step(
			'Roasters',
			roasters.length > 0,
			listed(roasters, 'A test needs the roaster it is planned on.'),
			'/setup/roasters'
		),
		step(
			'Shifts',
			roasters.length > 0 && idle.length === 0,
			missing(roasters, idle, 'a week of shifts', 'A week can be planned within shifts only.'),
			idle.length > 0 ? `/setup/roasters/${idle[0]}#shifts` : `${first}#shifts`
		),
		step(
			'Cost rates',
			roasters.length > 0 && unpriced.length === 0,
			missing(roasters, unpriced, 'a rate for today', 'A test is costed by its roaster’s rate.'),
			unpriced.length > 0 ? `/setup/roasters/${unpriced[0]}#rates` : `${first}#rates`
		),
		step(
			'Products',
			products.length > 0,
			listed(products, 'Orders are for products, and say by when a lot is needed.'),
			'/setup/products'
		),
		step(
			'Lots',
			lots.length > 0,
			listed(lots, 'Open the first on its own page, or load a table.'),
			lots.length > 0 ? '/lots' : '/lots/new'
		),
		step(
			'What products are made of',
			products.length > 0 && unmade.length === 0,
			missing(products, codes(unmade), 'its lots and shares', 'Orders become green through it.'),
			unmade.length > 0 ? `/setup/products/${unmade[0]!.code}#blend` : '/setup/products'
		),
		step(
			'Orders',
			demand.some((d) => d.roastedG > 0),
			demand.some((d) => d.roastedG > 0)
				? `Known to week ${demand.at(-1)!.week}`
				: 'Stock cover and release-by dates follow from them.',
			'/setup/orders'
		)
	];
}

function step(title: string, done: boolean, words: string, href: string): SetupStep {
	return { title, done, words, href };
}

function codes(rows: readonly { readonly code: string }[]): string[] {
	return rows.map((row) => row.code);
}

function listed(rows: readonly { readonly code: string }[], why: string): string {
	if (rows.length === 0) return why;
	const few = codes(rows.slice(0, 6)).join(', ');
	return rows.length > 6 ? `${few} and ${rows.length - 6} more` : few;
}

function missing(
	rows: readonly { readonly code: string }[],
	lacking: readonly string[],
	what: string,
	why: string
): string {
	if (rows.length === 0) return why;
	if (lacking.length > 0) return `${lacking.join(', ')} without ${what}. ${why}`;
	return rows.length === 1 ? `${rows[0]!.code} has ${what}` : `Each has ${what}`;
}

/** The site as its form shows it, with the version that was read. */
export async function loadSiteFields(db: Reader): Promise<{ fields: Fields; version: number }> {
	const site = await requireSite(db);
	return { fields: siteFields(site), version: site.version };
}

function siteFields(site: Site): Fields {
	return {
		name: site.name,
		time_zone: site.timeZone,
		currency: site.currency,
		altitude_m: String(site.altitudeM),
		release_lead_days: String(site.releaseLeadDays),
		cupping_lag_hours: String(site.cuppingLagHours),
		test_cycle_days: String(site.testCycleDays),
		supplier_lead_days: String(site.supplierLeadDays)
	};
}

/** A roaster in the list, with what it still lacks. */
export interface RoasterLine {
	readonly code: string;
	readonly name: string;
	readonly minChargeG: number;
	readonly maxChargeG: number;
	readonly cycleMin: number;
	/** Minutes of shifts a week. */
	readonly shiftMinAWeek: number;
	/** The day the rate of today is from; null without one. */
	readonly rateFrom: Day | null;
}

/** Every roaster, smallest first. */
export async function loadRoasterLines(
	db: Reader,
	now: InstantMs
): Promise<readonly RoasterLine[]> {
	const site = await requireSite(db);
	const today = dayOf(now, site.timeZone);
	const [roasters, shifts, rates] = await Promise.all([
		loadRoasters(db),
		loadShifts(db),
		loadCostRates(db)
	]);
	return roasters.map((roaster) => ({
		code: roaster.code,
		name: roaster.name,
		minChargeG: roaster.minChargeG,
		maxChargeG: roaster.maxChargeG,
		cycleMin: roaster.cycleMin,
		shiftMinAWeek: shifts
			.filter((s) => s.roasterId === roaster.id)
			.reduce((sum, s) => sum + s.endMin - s.startMin, 0),
		rateFrom: rateOn(rates, roaster.id, today)?.fromDay ?? null
	}));
}

/** One day of a roaster's week, with a place for one shift more than it has, two at least. */
export interface ShiftDay {
	readonly weekday: number;
	readonly shifts: readonly { readonly start: string; readonly end: string }[];
}

export interface RoasterPage {
	readonly id: number;
	readonly code: string;
	readonly name: string;
	readonly version: number;
	readonly fields: Fields;
	readonly week: readonly ShiftDay[];
	/** Of its week of shifts. */
	readonly shiftsVersion: number;
	/** Newest first; the first not after today applies today. */
	readonly rates: readonly { readonly fields: Fields; readonly applies: boolean }[];
	/** What the form of rates starts from: those of the day asked for, else the newest, from today. */
	readonly rateForm: {
		readonly fields: Fields;
		/** Of the rates kept for the form's day; 0 where there are none. */
		readonly version: number;
	};
	readonly currency: string;
}

/**
 * One roaster with its shifts and its rates, or null.
 * @param rateFrom the day whose rates are to be changed; null for new ones
 */
export async function loadRoasterPage(
	db: Reader,
	now: InstantMs,
	code: string,
	rateFrom: string | null = null
): Promise<RoasterPage | null> {
	const site = await requireSite(db);
	const roaster = (await loadRoasters(db)).find((each) => each.code === code);
	if (!roaster) return null;
	const [shifts, allRates] = await Promise.all([loadShifts(db), loadCostRates(db)]);
	const today = dayOf(now, site.timeZone);
	const rates = allRates.filter((rate) => rate.roasterId === roaster.id).reverse();
	const applying = rateOn(allRates, roaster.id, today);
	const day = rates.some((rate) => rate.fromDay === rateFrom) ? rateFrom! : today;
	const ofDay = rates.find((rate) => rate.fromDay === day);
	const like = ofDay ?? rates[0];
	return {
		id: roaster.id,
		code,
		name: roaster.name,
		version: roaster.version,
		shiftsVersion: roaster.shiftsVersion,
		fields: roasterFields(roaster),
		week: weekOfShifts(shifts.filter((s) => s.roasterId === roaster.id)),
		rates: rates.map((rate) => ({
			fields: rateFields(rate),
			applies: rate.fromDay === applying?.fromDay
		})),
		rateForm: {
			fields: { ...(like ? rateFields(like) : {}), from: day, currency: site.currency },
			version: ofDay?.version ?? 0
		},
		currency: site.currency
	};
}

/** Grams as the kilograms of a form. */
function kgField(massG: number): string {
	return formatTrimmed(massG, 3).replaceAll(',', '');
}

/** Minor units as the amount of a form. */
function amountField(minor: number, currency: string): string {
	return formatScaled(minor, minorDecimals(currency)).replaceAll(',', '');
}

function roasterFields(roaster: Roaster): Fields {
	return {
		code: roaster.code,
		name: roaster.name,
		min_charge_kg: kgField(roaster.minChargeG),
		max_charge_kg: kgField(roaster.maxChargeG),
		warm_up_min: String(roaster.warmUpMin),
		cycle_min: String(roaster.cycleMin),
		roast_min: String(roaster.roastMin),
		cleaning_min: String(roaster.cleaningMin),
		gas_min_pct: String(roaster.gasMinPct),
		gas_max_pct: String(roaster.gasMaxPct),
		gas_step_pct: String(roaster.gasStepPct),
		note: roaster.note
	};
}

const PLACES_A_DAY = 2;

function weekOfShifts(shifts: readonly Shift[]): ShiftDay[] {
	return [1, 2, 3, 4, 5, 6, 7].map((weekday) => {
		const known = shifts
			.filter((s) => s.weekday === weekday)
			.map((s) => ({ start: clockField(s.startMin), end: clockField(s.endMin) }));
		const blank = { start: '', end: '' };
		const empty = Array.from({ length: Math.max(0, PLACES_A_DAY - known.length) }, () => blank);
		return { weekday, shifts: [...known, ...empty] };
	});
}

function clockField(minutes: number): string {
	const two = (n: number) => String(n).padStart(2, '0');
	return `${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}

function rateFields(rate: CostRate): Fields {
	const amount = (minor: number) => amountField(minor, rate.currency);
	return {
		from: rate.fromDay,
		currency: rate.currency,
		energy_kwh_per_batch: String(rate.energyKwhPerBatch),
		energy_kwh_per_kg_green: String(rate.energyKwhPerKgGreen),
		energy_price_per_kwh: formatTrimmed(rate.energyPriceE4PerKwh, 4, 2).replaceAll(',', ''),
		labour_per_hour: amount(rate.labourMinorPerHour),
		machine_per_hour: amount(rate.machineMinorPerHour),
		quality_per_hour: amount(rate.qualityMinorPerHour),
		labour_min_per_batch: String(rate.labourMinPerBatch),
		quality_min_per_test: String(rate.qualityMinPerTest),
		power_kwh_per_batch: String(rate.powerKwhPerBatch),
		power_kwh_per_kg_green: String(rate.powerKwhPerKgGreen),
		power_price_per_kwh: formatTrimmed(rate.powerPriceE4PerKwh, 4, 2).replaceAll(',', ''),
		machine_cost: amount(rate.machineCostMinor),
		machine_residual: amount(rate.machineResidualMinor),
		machine_life_years: String(rate.machineLifeYears),
		machine_hours_per_year: String(rate.machineHoursPerYear)
	};
}

/** A product in the list with what it is made of this week. */
export interface ProductLine {
	readonly code: string;
	readonly name: string;
	readonly shade: string;
	readonly price: ReturnType<typeof money>;
	/** Shares in per cent. */
	readonly madeOf: readonly { readonly lot: string; readonly share: string }[];
}

/** Every product by code. */
export async function loadProductLines(
	db: Reader,
	now: InstantMs
): Promise<readonly ProductLine[]> {
	const site = await requireSite(db);
	const week = weekOf(dayOf(now, site.timeZone));
	const [products, parts, lots] = await Promise.all([
		loadProducts(db),
		loadBlendParts(db),
		loadLots(db)
	]);
	const codeOf = new Map(lots.map((lot) => [lot.id, lot.code]));
	return products.map((product) => ({
		code: product.code,
		name: product.name,
		shade: product.shade,
		price: money(product.priceMinorPerKg, site.currency),
		madeOf: (blendIn(product, parts, week)?.components ?? []).map((part) => ({
			lot: codeOf.get(part.lotId)!,
			share: formatTrimmed(part.sharePermille, 1)
		}))
	}));
}

export interface BlendBlock {
	readonly fromDay: Day;
	readonly parts: readonly {
		readonly lot: string;
		readonly name: string;
		readonly share: string;
		/** Per cent; empty where the share is the limit. */
		readonly least: string;
		readonly most: string;
		/** `HR-150; HR-151`; empty for none. */
		readonly substitutes: string;
	}[];
}

export interface ProductPage {
	readonly id: number;
	readonly code: string;
	readonly name: string;
	readonly version: number;
	readonly fields: Fields;
	/** Newest first. */
	readonly blends: readonly BlendBlock[];
	/** Every lot, the newest code first. */
	readonly lots: readonly { readonly code: string; readonly name: string }[];
	/** Number of the newest part of its blends, 0 without one: what a writer has seen. */
	readonly blendVersion: number;
	/** What the form for a new blend starts from: the newest, from today. */
	readonly newBlend: BlendBlock;
	readonly currency: string;
}

/** One product with its blends, or null. */
export async function loadProductPage(
	db: Reader,
	now: InstantMs,
	code: string
): Promise<ProductPage | null> {
	const site = await requireSite(db);
	const product = (await loadProducts(db)).find((each) => each.code === code);
	if (!product) return null;
	const [parts, lots] = await Promise.all([loadBlendParts(db), loadLots(db)]);
	const own = parts.filter((part) => part.productId === product.id);
	const blends = blocksOf(own, lots);
	return {
		id: product.id,
		code,
		name: product.name,
		version: product.version,
		fields: productFields(product, site.currency),
		blends,
		lots: lots.map(({ code, name }) => ({ code, name })).reverse(),
		blendVersion: Math.max(0, ...own.map(({ id }) => id)),
		newBlend: { fromDay: dayOf(now, site.timeZone), parts: blends[0]?.parts ?? [] },
		currency: site.currency
	};
}

function blocksOf(parts: readonly BlendPart[], lots: readonly Lot[]): BlendBlock[] {
	const lotById = new Map(lots.map((lot) => [lot.id, lot]));
	const limit = (permille: number | null) => (permille === null ? '' : formatTrimmed(permille, 1));
	return [...Map.groupBy(parts, (part) => part.fromDay)]
		.map(([fromDay, ofDay]) => ({
			fromDay,
			parts: ofDay.map((part) => ({
				lot: lotById.get(part.lotId)!.code,
				name: lotById.get(part.lotId)!.name,
				share: formatTrimmed(part.sharePermille, 1),
				least: limit(part.leastPermille),
				most: limit(part.mostPermille),
				substitutes: part.substituteLotIds.map((id) => lotById.get(id)!.code).join('; ')
			}))
		}))
		.reverse();
}

function productFields(product: Product, currency: string): Fields {
	return {
		code: product.code,
		name: product.name,
		shade: product.shade,
		price_per_kg: amountField(product.priceMinorPerKg, currency),
		rule_form: product.verdictRule?.form ?? '',
		smallest_score: String(product.verdictRule?.minScore ?? ''),
		largest_spread: String(product.verdictRule?.maxSpread ?? ''),
		no_fault_cups: product.verdictRule?.noFaultCups ? 'yes' : 'no'
	};
}

/** Weeks that the grid of orders shows at once. */
const WEEKS_SHOWN = 8;

export interface OrdersGrid {
	readonly weeks: readonly IsoWeek[];
	readonly earlier: IsoWeek;
	readonly later: IsoWeek;
	readonly isNow: boolean;
	readonly rows: readonly {
		readonly product: string;
		readonly name: string;
		/** Roasted grams by week; 0 where nothing is recorded. */
		readonly roastedG: readonly number[];
		/** The same as the form shows them: blank where nothing is recorded. */
		readonly fields: readonly string[];
	}[];
	readonly totalG: readonly number[];
}

/** Orders by product in the eight weeks from `from`, or from this week. */
export async function loadOrdersGrid(
	db: Reader,
	now: InstantMs,
	from: string | null
): Promise<OrdersGrid> {
	const site = await requireSite(db);
	const thisWeek = weekOf(dayOf(now, site.timeZone));
	const first = from !== null && isWeek(from) ? from : thisWeek;
	const weeks = Array.from({ length: WEEKS_SHOWN }, (_, i) => addWeeks(first, i));
	const [products, demand] = await Promise.all([loadProducts(db), loadDemand(db, first)]);
	const rows = products.map((product) => {
		const ordered = weeks.map(
			(week) => demand.find((d) => d.productId === product.id && d.week === week)?.roastedG
		);
		return {
			product: product.code,
			name: product.name,
			roastedG: ordered.map((g) => g ?? 0),
			fields: ordered.map((g) => (g === undefined ? '' : kgField(g)))
		};
	});
	return {
		weeks,
		earlier: addWeeks(first, -WEEKS_SHOWN),
		later: addWeeks(first, WEEKS_SHOWN),
		isNow: first === thisWeek,
		rows,
		totalG: weeks.map((_, i) => rows.reduce((sum, row) => sum + row.roastedG[i]!, 0))
	};
}

/** A table file and what its columns take, as its reading is specified. */
export interface TableHelp {
	readonly file: TableFile;
	readonly columns: readonly {
		readonly name: string;
		readonly takes: string;
		readonly required: boolean;
	}[];
}

/** Every table that can be loaded, in the order in which what is referred to comes first. */
export function loadTableHelp(): readonly TableHelp[] {
	return (Object.keys(TABLES) as TableFile[]).map((file) => ({
		file,
		columns: Object.values(TABLES[file].columns).map(({ name, type, blank }) => ({
			name,
			takes: type.describe,
			required: blank.refused
		}))
	}));
}

/** One earlier import. */
export interface PastImport {
	readonly at: Moment;
	readonly by: string;
	readonly rows: number;
	readonly logs: number;
	readonly tables: readonly string[];
}

/** The imports so far, newest first. */
export async function loadPastImports(db: Reader): Promise<readonly PastImport[]> {
	const site = await loadSite(db);
	const acts = await loadActsOf(db, 'import tables', 20);
	return acts.map(({ at, by, detail }) => {
		const { rows, logs, tables } = detail as Omit<PastImport, 'at' | 'by'>;
		return { at: momentOf(at, site?.timeZone ?? 'UTC'), by, rows, logs, tables };
	});
}
