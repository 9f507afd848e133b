/**
 * Every table that a roastery's records come in as, with the records they become. Names in the file are
 * snake_case, properties are those of the schema. Codes refer to other tables; whoever loads them
 * resolves them and turns local times into instants of the site's zone.
 */
import { RECOVERY_KINDS } from '#lib/domain/cost/recovery.ts';
import { INVOICE_KINDS } from '#lib/domain/cost/invoice.ts';
import { INCOTERMS, PRICE_BASES, PRICE_UNITS } from '#lib/domain/cost/terms.ts';
import { LOT_KINDS, SAMPLE_STAGES, VERDICTS } from '#lib/domain/lot/lot.ts';
import { ROAST_SHADES } from '#lib/domain/plan/problem.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import {
	checkCupping,
	type AffectiveForm,
	type CuppingForm,
	type SumForm
} from '#lib/domain/trial/cupping.ts';
import type { TestSettings } from '#lib/domain/trial/settings.ts';
import { bagParts } from './bagCell.ts';
import type { VerdictRule } from '#lib/domain/trial/verdictRule.ts';
import { asksNothing } from '#lib/domain/trial/verdictRule.ts';
import * as cell from './cells.ts';
import { cuppingSessionsTable, sessionCupsTable, sessionSheetsTable } from './sessionTables.ts';
import { filled, maybe, orElse, type Column, type TableSpec } from './tableFile.ts';

/** Movements a person records; sampling, testing and producing make their own. */
export const RECORDED_MOVEMENTS = [
	'received',
	'sold green',
	'written off',
	'count difference'
] as const;

type RowOf<C> = { readonly [K in keyof C]: C[K] extends Column<infer V> ? V : never };
type Columns = Record<string, Column<unknown>>;

/** A table whose rows are its cells. `check` looks across the cells of a row. */
function plain<C extends Columns>(
	name: string,
	columns: C,
	key: readonly (keyof C)[] = [],
	check: (row: RowOf<C>) => Outcome<RowOf<C>> = good
): TableSpec<RowOf<C>> {
	const spec = { name, columns, finish: check } as unknown as TableSpec<RowOf<C>>;
	return key.length > 0 ? { ...spec, key } : spec;
}

/** The record a table's rows become. */
export type RecordOf<S> = S extends { finish: (row: never) => Outcome<infer T> } ? T : never;

const note = orElse('note', cell.text, '');
const by = filled('by', cell.text);
const at = filled('at', cell.localTime);
const lot = filled('lot', cell.code);
const test = filled('test', cell.whole(1, 99));
const roaster = filled('roaster', cell.code);
const LEAD_DAYS = cell.whole(0, 365, 'days');

export const siteTable = plain('site', {
	name: filled('name', cell.text),
	timeZone: filled('time_zone', cell.zone),
	currency: filled('currency', cell.currency),
	altitudeM: filled('altitude_m', cell.whole(-400, 5000, 'm')),
	releaseLeadDays: filled('release_lead_days', cell.whole(0, 60, 'days')),
	cuppingLagHours: filled('cupping_lag_hours', cell.whole(0, 336, 'hours')),
	testCycleDays: filled('test_cycle_days', cell.whole(1, 60, 'days')),
	supplierLeadDays: orElse('supplier_lead_days', LEAD_DAYS, 60)
});

export const roastersTable = plain(
	'roasters',
	{
		code: filled('code', cell.code),
		name: filled('name', cell.text),
		minChargeG: filled('min_charge_kg', cell.kg(0.001, 1000)),
		maxChargeG: filled('max_charge_kg', cell.kg(0.001, 1000)),
		warmUpMin: filled('warm_up_min', cell.whole(0, 240, 'min')),
		cycleMin: filled('cycle_min', cell.whole(1, 120, 'min')),
		roastMin: filled('roast_min', cell.whole(1, 120, 'min')),
		cleaningMin: filled('cleaning_min', cell.whole(0, 480, 'min')),
		gasMinPct: orElse('gas_min_pct', cell.real(0, 100, '%'), 0),
		gasMaxPct: orElse('gas_max_pct', cell.real(0, 100, '%'), 100),
		gasStepPct: orElse('gas_step_pct', cell.real(0.1, 25, '%'), 1),
		note
	},
	['code'],
	(row) => {
		if (row.maxChargeG < row.minChargeG)
			return refuse('max_charge_kg', 'found less than min_charge_kg, expected at least as much');
		if (row.roastMin > row.cycleMin)
			return refuse('roast_min', 'found more than cycle_min, expected at most as much');
		if (row.gasMaxPct <= row.gasMinPct)
			return refuse('gas_max_pct', 'found no more than gas_min_pct, expected more');
		return good(row);
	}
);

export const shiftsTable = plain(
	'shifts',
	{
		roaster,
		weekday: filled('weekday', cell.whole(1, 7, '(Monday is 1)')),
		startMin: filled('start', cell.clockMin),
		endMin: filled('end', cell.clockMin)
	},
	['roaster', 'weekday', 'startMin'],
	(row) =>
		row.endMin > row.startMin
			? good(row)
			: refuse('end', 'found an end not after the start, expected a later time of the same day')
);

export const costRatesTable = plain(
	'cost rates',
	{
		fromDay: filled('from', cell.day),
		roaster,
		currency: filled('currency', cell.currency),
		energyKwhPerBatch: filled('energy_kwh_per_batch', cell.real(0, 10_000, 'kWh')),
		energyKwhPerKgGreen: filled('energy_kwh_per_kg_green', cell.real(0, 100, 'kWh')),
		energyPriceE4PerKwh: filled('energy_price_per_kwh', cell.priceE4),
		labourMinorPerHour: filled('labour_per_hour', cell.minor),
		machineMinorPerHour: filled('machine_per_hour', cell.minor),
		qualityMinorPerHour: filled('quality_per_hour', cell.minor),
		labourMinPerBatch: filled('labour_min_per_batch', cell.whole(0, 1440, 'min')),
		qualityMinPerTest: filled('quality_min_per_test', cell.whole(0, 1440, 'min')),
		powerKwhPerBatch: orElse('power_kwh_per_batch', cell.real(0, 10_000, 'kWh'), 0),
		powerKwhPerKgGreen: orElse('power_kwh_per_kg_green', cell.real(0, 100, 'kWh'), 0),
		powerPriceE4PerKwh: orElse('power_price_per_kwh', cell.priceE4, 0),
		machineCostMinor: orElse('machine_cost', cell.minor, 0),
		machineResidualMinor: orElse('machine_residual', cell.minor, 0),
		machineLifeYears: orElse('machine_life_years', cell.whole(0, 100, 'years'), 0),
		machineHoursPerYear: orElse('machine_hours_per_year', cell.whole(0, 8784, 'hours'), 0)
	},
	['roaster', 'fromDay'],
	(row) =>
		row.machineResidualMinor <= row.machineCostMinor
			? good(row)
			: refuse('machine_residual', 'found more than machine_cost, expected at most as much')
);

/** What meters said that a batch took: of a test by its number, of production by roaster and time. */
export const energyReadingsTable = plain(
	'energy readings',
	{
		lot,
		test: maybe('test', cell.whole(1, 99)),
		roaster: maybe('roaster', cell.code),
		roastedAt: maybe('roasted_at', cell.localTime),
		at,
		gasWh: maybe('gas_kwh', cell.kwh),
		powerWh: maybe('power_kwh', cell.kwh),
		by
	},
	[],
	(row) => {
		if (row.gasWh === null && row.powerWh === null)
			return refuse('gas_kwh', 'found nothing, expected gas_kwh, power_kwh or both');
		if (row.test === null && (row.roaster === null || row.roastedAt === null))
			return refuse('test', 'found nothing, expected a test, or roaster and roasted_at of a batch');
		return good(row);
	}
);

const productColumns = {
	code: filled('code', cell.code),
	name: filled('name', cell.text),
	shade: filled('shade', cell.choice(ROAST_SHADES)),
	priceMinorPerKg: filled('price_per_kg', cell.minor),
	ruleForm: maybe('rule_form', cell.choice(['2004', '2024'])),
	ruleMinScore: maybe('smallest_score', cell.real(0, 100, 'points')),
	ruleMaxSpread: maybe('largest_spread', cell.real(0, 50, 'points')),
	ruleNoFaultCups: orElse('no_fault_cups', cell.yesNo, false)
};

export interface ProductRecord {
	readonly code: string;
	readonly name: string;
	readonly shade: (typeof ROAST_SHADES)[number];
	readonly priceMinorPerKg: number;
	/** Null where nothing is asked of its cuppings. */
	readonly verdictRule: VerdictRule | null;
}

export const productsTable: TableSpec<ProductRecord, RowOf<typeof productColumns>> = {
	name: 'products',
	columns: productColumns,
	key: ['code'],
	finish: finishProduct
};

function finishProduct(row: RowOf<typeof productColumns>): Outcome<ProductRecord> {
	const { ruleForm, ruleMinScore, ruleMaxSpread, ruleNoFaultCups, ...product } = row;
	const rule: VerdictRule = {
		form: ruleForm ?? '2004',
		...{ minScore: ruleMinScore, maxSpread: ruleMaxSpread, noFaultCups: ruleNoFaultCups }
	};
	if (asksNothing(rule)) return good({ ...product, verdictRule: null });
	if (ruleForm === null)
		return refuse('rule_form', 'found none beside a rule, expected 2004 or 2024');
	return good({ ...product, verdictRule: rule });
}

export const suppliersTable = plain(
	'suppliers',
	{ supplier: filled('supplier', cell.text), leadDays: maybe('lead_days', LEAD_DAYS) },
	['supplier']
);

export const blendsTable = plain(
	'blends',
	{
		product: filled('product', cell.code),
		fromDay: filled('from', cell.day),
		lot,
		sharePermille: filled('share_pct', cell.pctToPermille),
		leastPermille: maybe('least_pct', cell.pctToPermille),
		mostPermille: maybe('most_pct', cell.pctToPermille),
		/** Lots that may stand in, the first choice first. */
		substitutes: orElse('substitutes', cell.codes, [])
	},
	['product', 'fromDay', 'lot']
);

export const lotsTable = plain(
	'lots',
	{
		code: filled('code', cell.code),
		name: filled('name', cell.text),
		kind: filled('kind', cell.choice(LOT_KINDS)),
		country: filled('country', cell.country),
		producer: orElse('producer', cell.text, ''),
		supplier: orElse('supplier', cell.text, ''),
		variety: orElse('variety', cell.text, ''),
		cropYear: orElse('crop_year', cell.code, ''),
		bagG: filled('bag_kg', cell.kg(0.1, 2000)),
		bagsExpected: filled('bags_expected', cell.whole(0, 100_000, 'bags')),
		expectedOn: maybe('expected_on', cell.day),
		organic: filled('organic', cell.yesNo),
		decaf: filled('decaf', cell.yesNo),
		replaces: maybe('replaces', cell.code),
		forProduct: maybe('for_product', cell.code),
		neededOn: maybe('needed_on', cell.day),
		note,
		createdAt: maybe('created_at', cell.localTime)
	},
	['code']
);

export const priceTermsTable = plain('price terms', {
	lot,
	agreedOn: filled('agreed_on', cell.day),
	basis: filled('basis', cell.choice(PRICE_BASES)),
	priceE4: filled('price', cell.priceE4),
	differentialE4: orElse('differential', cell.differentialE4, 0),
	per: filled('per', cell.choice(PRICE_UNITS)),
	currency: filled('currency', cell.currency),
	fxE6: maybe('fx_rate', cell.rateE6),
	fxOn: filled('fx_on', cell.day),
	incoterm: filled('incoterm', cell.choice(INCOTERMS)),
	freightMinor: orElse('freight', cell.minor, 0),
	insurancePpm: orElse('insurance_pct', cell.pctToPpm, 0),
	dutyPpm: orElse('duty_pct', cell.pctToPpm, 0),
	portMinor: orElse('port', cell.siteMinor, 0),
	warehouseMinor: orElse('warehouse', cell.siteMinor, 0),
	financeDays: orElse('finance_days', cell.whole(0, 3650, 'days'), 0),
	financeRatePpm: orElse('finance_rate_pct', cell.pctToPpm, 0),
	shippedG: maybe('shipped_kg', cell.kg(0.001, 1_000_000)),
	franchisePpm: maybe('franchise_pct', cell.pctToPpm)
});

export const ratesTable = plain(
	'exchange rates',
	{
		day: filled('day', cell.day),
		from: filled('from', cell.currency),
		to: filled('to', cell.currency),
		rateE6: filled('rate', cell.rateE6),
		source: orElse('source', cell.text, '')
	},
	['day', 'from', 'to']
);

/** Also read by the lot's own page. */
export const invoicesTable = plain(
	'invoices',
	{
		lot,
		day: filled('day', cell.day),
		kind: filled('kind', cell.choice(INVOICE_KINDS)),
		number: filled('number', cell.code),
		amountMinor: filled('amount', cell.minor),
		currency: filled('currency', cell.currency),
		fxE6: maybe('fx_rate', cell.rateE6),
		note,
		by
	},
	['lot', 'kind', 'number']
);

export const movementsTable = plain(
	'movements',
	{
		lot,
		at,
		kind: filled('kind', cell.choice(RECORDED_MOVEMENTS)),
		massG: filled('mass_kg', cell.kg(-1_000_000, 1_000_000)),
		reason: orElse('reason', cell.text, ''),
		by,
		bags: orElse('bags', bagParts, [])
	},
	[],
	(row) => {
		const wanted = { received: 1, 'sold green': -1, 'written off': -1, 'count difference': 0 }[
			row.kind
		];
		if (row.massG === 0) return refuse('mass_kg', 'found 0, expected a mass that is not zero');
		if (wanted !== 0 && Math.sign(row.massG) !== wanted)
			return refuse(
				'mass_kg',
				`found ${row.massG / 1000} kg for '${row.kind}', expected ${wanted > 0 ? 'more' : 'less'} than 0`
			);
		return good(row);
	}
);

export const measurementsTable = plain('measurements', {
	lot,
	stage: filled('stage', cell.choice(SAMPLE_STAGES)),
	at,
	moisturePct: maybe('moisture_pct', cell.real(0, 60, '%')),
	waterActivity: maybe('water_activity', cell.real(0, 1, '')),
	densityGL: maybe('density_g_l', cell.real(100, 1500, 'g/L')),
	screen16UpPct: maybe('screen_16_up_pct', cell.real(0, 100, '%')),
	defectsPer300G: maybe('defects_per_300g', cell.whole(0, 5000, 'defects')),
	by
});

export const samplesTable = plain('samples', {
	lot,
	stage: filled('stage', cell.choice(SAMPLE_STAGES)),
	roastedAt: filled('roasted_at', cell.localTime),
	by,
	chargeG: maybe('charge_g', cell.real(1, 5000, 'g')),
	outG: maybe('out_g', cell.real(1, 5000, 'g')),
	airFlowGS: maybe('air_flow_g_s', cell.real(0.01, 1000, 'g/s')),
	sensorLagS: maybe('sensor_lag_s', cell.real(0, 120, 's')),
	earCrackS: maybe('ear_crack', cell.roastClock),
	logFile: filled('log_file', cell.filePath),
	note
});

const testColumns = {
	lot,
	number: filled('number', cell.whole(1, 99)),
	plannedAt: filled('planned_at', cell.localTime),
	plannedBy: filled('planned_by', cell.text),
	purpose: filled('purpose', cell.text),
	change: orElse('change', cell.text, ''),
	roaster,
	chargeG: filled('charge_kg', cell.kg(0.001, 1000)),
	startC: filled('start_c', cell.real(20, 350, 'C')),
	soakS: filled('soak_s', cell.real(0, 600, 's')),
	gasSteps: filled('gas_steps', cell.steps),
	airSteps: filled('air_steps', cell.steps),
	drumRpm: filled('drum_rpm', cell.real(0, 200, 'rpm')),
	roastedAt: maybe('roasted_at', cell.localTime),
	roastedBy: maybe('roasted_by', cell.text),
	outG: maybe('out_kg', cell.kg(0, 1000)),
	logFile: maybe('log_file', cell.filePath),
	note
};

/** A test as planned and, once it was, as roasted. */
export interface TestRecord {
	readonly lot: string;
	readonly number: number;
	readonly plannedAt: cell.LocalTime;
	readonly plannedBy: string;
	readonly purpose: string;
	readonly change: string;
	readonly roaster: string;
	readonly settings: TestSettings;
	/** Null while it is only planned. */
	readonly roast: {
		readonly roastedAt: cell.LocalTime;
		readonly by: string;
		readonly outG: number;
		readonly logFile: string | null;
		readonly note: string;
	} | null;
}

export const testsTable: TableSpec<TestRecord, RowOf<typeof testColumns>> = {
	name: 'tests',
	columns: testColumns,
	key: ['lot', 'number'],
	finish: finishTest
};

function finishTest(row: RowOf<typeof testColumns>): Outcome<TestRecord> {
	const { lot, number, plannedAt, plannedBy, purpose, change, roaster } = row;
	const { chargeG, startC, soakS, gasSteps, airSteps, drumRpm } = row;
	const { roastedAt, roastedBy, outG, logFile, note } = row;
	const settings: TestSettings = { chargeG, startC, soakS, gasSteps, airSteps, drumRpm };
	const planned = { lot, number, plannedAt, plannedBy, purpose, change, roaster, settings };
	if (roastedAt === null) {
		if (roastedBy !== null || outG !== null || logFile !== null)
			return refuse('roasted_at', 'found nothing beside a result, expected when it was roasted');
		return good({ ...planned, roast: null });
	}
	if (roastedBy === null) return refuse('roasted_by', 'found nothing, expected who roasted it');
	if (outG === null) return refuse('out_kg', 'found nothing, expected the mass that came out');
	if (outG > chargeG) return refuse('out_kg', 'found more than the charge, expected less');
	return good({ ...planned, roast: { roastedAt, by: roastedBy, outG, logFile, note } });
}

const cuppingColumns = {
	lot,
	test,
	cuppedAt: filled('cupped_at', cell.localTime),
	by,
	form: filled('form', cell.choice(['2004', '2024'])),
	scores: filled('scores', cell.numbers),
	taints: orElse('taints', cell.whole(0, 5, 'cups'), 0),
	faults: orElse('faults', cell.whole(0, 5, 'cups'), 0),
	descriptors: orElse('descriptors', cell.text, ''),
	note
};

export interface CuppingRecord {
	readonly lot: string;
	readonly test: number;
	readonly cuppedAt: cell.LocalTime;
	readonly by: string;
	readonly sheet: CuppingForm;
	readonly descriptors: string;
	readonly note: string;
}

export const cuppingsTable: TableSpec<CuppingRecord, RowOf<typeof cuppingColumns>> = {
	name: 'cuppings',
	columns: cuppingColumns,
	key: ['lot', 'test', 'cuppedAt', 'by'],
	finish: finishCupping
};

function finishCupping(row: RowOf<typeof cuppingColumns>): Outcome<CuppingRecord> {
	const { lot, test, cuppedAt, by, descriptors, note } = row;
	const wanted = row.form === '2004' ? 10 : 8;
	if (row.scores.length !== wanted)
		return refuse(
			'scores',
			`found ${row.scores.length} scores, expected ${wanted} on the form of ${row.form}`
		);
	const sheet: CuppingForm = row.form === '2004' ? sumSheet(row) : affectiveSheet(row);
	const checked = checkCupping(sheet);
	if (!checked.ok)
		return bad(...checked.problems.map(({ message }) => ({ path: 'scores', message })));
	return good({ lot, test, cuppedAt, by, sheet, descriptors, note });
}

/** Four neighbouring scores; the number of scores is checked before. */
type Four = readonly [number, number, number, number];

/**
 * The ten numbers of the 2004 form in its order (from memory): fragrance and aroma, flavour, aftertaste,
 * acidity, body, balance, uniformity, clean cup, sweetness, overall. The three of cups are points, two a cup.
 */
function sumSheet({ scores, taints, faults }: RowOf<typeof cuppingColumns>): SumForm {
	const [fragranceAroma, flavour, aftertaste, acidity] = scores as unknown as Four;
	const [body, balance, uniformity, cleanCup] = scores.slice(4) as unknown as Four;
	const [, , sweetness, overall] = scores.slice(6) as unknown as Four;
	return {
		form: 'sum',
		fragranceAroma,
		flavour,
		aftertaste,
		acidity,
		body,
		balance,
		uniformCups: uniformity / 2,
		cleanCups: cleanCup / 2,
		sweetCups: sweetness / 2,
		overall,
		taintCups: taints,
		faultCups: faults
	};
}

/** The eight scores of the 2024 form in the order of its fields; taints count as cups that differ. */
function affectiveSheet({ scores, taints, faults }: RowOf<typeof cuppingColumns>): AffectiveForm {
	const [fragrance, aroma, flavour, aftertaste] = scores as unknown as Four;
	const [acidity, sweetness, mouthfeel, overall] = scores.slice(4) as unknown as Four;
	return {
		form: 'affective',
		fragrance,
		aroma,
		flavour,
		aftertaste,
		acidity,
		sweetness,
		mouthfeel,
		overall,
		nonUniformCups: taints,
		defectiveCups: faults
	};
}

export const verdictsTable = plain(
	'verdicts',
	{
		lot,
		test,
		at,
		by,
		verdict: filled('verdict', cell.choice(VERDICTS)),
		reason: filled('reason', cell.text),
		againstReason: maybe('against_reason', cell.text)
	},
	['lot', 'test']
);

export const recoveriesTable = plain('recoveries', {
	lot,
	test,
	at,
	kind: filled('kind', cell.choice(RECOVERY_KINDS)),
	massG: filled('mass_kg', cell.kg(0.001, 100_000)),
	valueMinor: filled('value', cell.minor),
	product: maybe('product', cell.code),
	by
});

export const releasesTable = plain('releases', {
	lot,
	test,
	at,
	roastingBy: filled('roasting_by', cell.text),
	qualityBy: filled('quality_by', cell.text),
	descriptors: filled('descriptors', cell.text),
	priceMinorPerKg: filled('price_per_kg', cell.minor)
});

const turn = { lot, at, by, reason: filled('reason', cell.text) };
export const reopeningsTable = plain('reopenings', turn);
export const rejectionsTable = plain('rejections', turn);

export const productionTable = plain(
	'production',
	{
		lot,
		product: filled('product', cell.code),
		roaster,
		roastedAt: filled('roasted_at', cell.localTime),
		chargeG: filled('charge_kg', cell.kg(0.001, 1000)),
		outG: filled('out_kg', cell.kg(0, 1000)),
		by
	},
	[],
	(row) =>
		row.outG <= row.chargeG
			? good(row)
			: refuse('out_kg', 'found more than the charge, expected less')
);

/** Drum logs of production batches that are in production.csv: a batch by lot, roaster and time. */
export const productionLogsTable = plain(
	'production logs',
	{
		lot,
		roaster,
		roastedAt: filled('roasted_at', cell.localTime),
		logFile: filled('log_file', cell.filePath),
		by
	},
	['lot', 'roaster', 'roastedAt']
);

/** Colour values of roasted batches: of a test by its number, of production by roaster and time. */
export const coloursTable = plain(
	'colours',
	{
		lot,
		test: maybe('test', cell.whole(1, 99)),
		roaster: maybe('roaster', cell.code),
		roastedAt: maybe('roasted_at', cell.localTime),
		at,
		value: filled('colour_value', cell.real(-1000, 1000, '')),
		scale: filled('colour_scale', cell.text),
		by
	},
	[],
	(row) =>
		row.test === null && (row.roaster === null || row.roastedAt === null)
			? refuse('test', 'found nothing, expected a test, or roaster and roasted_at of a batch')
			: good(row)
);

export const demandTable = plain(
	'demand',
	{
		product: filled('product', cell.code),
		week: filled('week', cell.week),
		roastedG: filled('roasted_kg', cell.kg(0, 1_000_000))
	},
	['product', 'week']
);

/** Every table by its file, in an order in which what is referred to comes first. */
export const TABLES = {
	'site.csv': siteTable,
	'roasters.csv': roastersTable,
	'shifts.csv': shiftsTable,
	'cost_rates.csv': costRatesTable,
	'rates.csv': ratesTable,
	'products.csv': productsTable,
	'lots.csv': lotsTable,
	'suppliers.csv': suppliersTable,
	'blends.csv': blendsTable,
	'price_terms.csv': priceTermsTable,
	'movements.csv': movementsTable,
	'invoices.csv': invoicesTable,
	'measurements.csv': measurementsTable,
	'samples.csv': samplesTable,
	'tests.csv': testsTable,
	'cuppings.csv': cuppingsTable,
	'verdicts.csv': verdictsTable,
	'cupping_sessions.csv': cuppingSessionsTable,
	'session_cups.csv': sessionCupsTable,
	'session_sheets.csv': sessionSheetsTable,
	'recoveries.csv': recoveriesTable,
	'releases.csv': releasesTable,
	'reopenings.csv': reopeningsTable,
	'rejections.csv': rejectionsTable,
	'production.csv': productionTable,
	'production_logs.csv': productionLogsTable,
	'colours.csv': coloursTable,
	'energy_readings.csv': energyReadingsTable,
	'demand.csv': demandTable
} as const;

export type TableFile = keyof typeof TABLES;

function refuse<T>(column: string, message: string): Outcome<T> {
	return bad({ path: column, message });
}
