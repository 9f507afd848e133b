import { ROAST_SHADES } from '#lib/domain/plan/problem.ts';
import type { RecordField } from '#lib/ui/components/record.ts';

/**
 * The fields of Setup's forms, in the order they are filled in. Names are the headings of the tables, so
 * that a form and a file are read by the same rules.
 */
const currency = { name: 'currency', label: 'Currency', hint: 'ISO 4217, such as GBP' } as const;
const name = { name: 'name', label: 'Name' } as const;
const code = { name: 'code', label: 'Code', hint: 'Short; used once and kept' } as const;
const whole = { inputmode: 'numeric' } as const;
const decimal = { inputmode: 'decimal' } as const;

export function siteFields(zones: readonly string[]): readonly RecordField[] {
	return [
		{ ...name, label: 'Name of the roastery' },
		{
			name: 'time_zone',
			label: 'Time zone',
			choices: zones.map((zone) => ({ value: zone, label: zone })),
			hint: 'Days, weeks and shifts follow it'
		},
		{ ...currency, hint: 'Costs are summed in it, such as GBP' },
		{
			...{ name: 'altitude_m', label: 'Altitude', unit: 'm', ...whole },
			hint: 'Gives the air pressure where a log has none'
		},
		{
			...{ name: 'release_lead_days', label: 'Release before need', unit: 'days', ...whole },
			hint: 'From a lot’s release to the day production uses it'
		},
		{
			...{ name: 'cupping_lag_hours', label: 'Roast to cupping', unit: 'hours', ...whole },
			hint: 'From a test’s roast to its verdict: no next test before'
		},
		{
			...{ name: 'test_cycle_days', label: 'Test to test', unit: 'working days', ...whole },
			hint: 'As you usually plan the tests of one lot'
		},
		{
			...{ name: 'supplier_lead_days', label: 'Order to arrival', unit: 'days', ...whole },
			hint: 'Of green coffee as you usually order it; gives the order-by dates'
		}
	];
}

const roasterFacts: readonly RecordField[] = [
	name,
	{ name: 'min_charge_kg', label: 'Smallest charge', unit: 'kg green', ...decimal },
	{ name: 'max_charge_kg', label: 'Largest charge', unit: 'kg green', ...decimal },
	{ name: 'roast_min', label: 'Roast', unit: 'min', hint: 'Charge to drop', ...whole },
	{ name: 'cycle_min', label: 'Cycle', unit: 'min', hint: 'Charge to next charge', ...whole },
	{ name: 'warm_up_min', label: 'Warm-up', unit: 'min', hint: 'At the start of a shift', ...whole },
	{
		...{ name: 'cleaning_min', label: 'Cleaning', unit: 'min', ...whole },
		hint: 'Before decaf or certified coffee'
	},
	{
		...{ name: 'gas_min_pct', label: 'Lowest gas', unit: '%', optional: true, ...decimal },
		hint: 'By the machine maker’s limits; no proposal goes below'
	},
	{
		...{ name: 'gas_max_pct', label: 'Highest gas', unit: '%', optional: true, ...decimal },
		hint: 'No proposal goes above'
	},
	{
		...{ name: 'gas_step_pct', label: 'Gas step', unit: '%', optional: true, ...decimal },
		hint: 'The smallest change that the burner takes'
	},
	{ name: 'note', label: 'Note', optional: true, lines: 2 }
];

export const ROASTER_FIELDS = { new: [code, ...roasterFacts], change: roasterFacts };

function powerField(name: string, label: string) {
	return { name, label, optional: true, ...decimal };
}

export const RATE_FIELDS: readonly RecordField[] = [
	{ name: 'from', label: 'From', type: 'date', hint: 'The first day these rates apply' },
	{ name: 'energy_kwh_per_batch', label: 'Gas a batch', unit: 'kWh', ...decimal },
	{ name: 'energy_kwh_per_kg_green', label: 'Gas a kg green', unit: 'kWh', ...decimal },
	{ name: 'energy_price_per_kwh', label: 'Gas price', unit: 'per kWh', ...decimal },
	{ ...powerField('power_kwh_per_batch', 'Power a batch'), unit: 'kWh' },
	{ ...powerField('power_kwh_per_kg_green', 'Power a kg green'), unit: 'kWh' },
	{ ...powerField('power_price_per_kwh', 'Power price'), unit: 'per kWh' },
	{ name: 'labour_per_hour', label: 'Labour', unit: 'per hour', ...decimal },
	{ name: 'machine_per_hour', label: 'Machine, beside depreciation', unit: 'per hour', ...decimal },
	{ name: 'quality_per_hour', label: 'Quality time', unit: 'per hour', ...decimal },
	{ name: 'labour_min_per_batch', label: 'Labour a batch', unit: 'min', ...whole },
	{ name: 'quality_min_per_test', label: 'Quality time a test', unit: 'min', ...whole },
	{
		...{ name: 'machine_cost', label: 'Machine cost', optional: true, ...decimal },
		hint: 'Depreciation, straight line; blank where none is counted'
	},
	{ name: 'machine_residual', label: 'Worth at the end', optional: true, ...decimal },
	{ name: 'machine_life_years', label: 'Life', unit: 'years', optional: true, ...whole },
	{ name: 'machine_hours_per_year', label: 'Run a year', unit: 'hours', optional: true, ...whole }
];

const productFacts = (priceIn: string): readonly RecordField[] => [
	name,
	{
		name: 'shade',
		label: 'Shade',
		choices: ROAST_SHADES.map((shade) => ({ value: shade, label: shade })),
		hint: 'Light is roasted before dark'
	},
	{ name: 'price_per_kg', label: 'Price', unit: `${priceIn} per kg roasted`, ...decimal },
	{
		name: 'rule_form',
		label: 'Verdict rule on',
		optional: true,
		choices: [
			{ value: '', label: 'no rule' },
			{ value: '2004', label: 'sum form of 2004' },
			{ value: '2024', label: 'affective form of 2024' }
		],
		hint: 'What a cupping has to show before a test is approved; a person still decides'
	},
	{
		...{
			name: 'smallest_score',
			label: 'Smallest score',
			unit: 'points',
			optional: true,
			...decimal
		},
		hint: 'Mean of the cuppers'
	},
	{
		...{
			name: 'largest_spread',
			label: 'Largest spread',
			unit: 'points',
			optional: true,
			...decimal
		},
		hint: 'Highest cupper less the lowest'
	},
	{
		name: 'no_fault_cups',
		label: 'Cups with a fault',
		optional: true,
		choices: [
			{ value: 'no', label: 'not asked about' },
			{ value: 'yes', label: 'none allowed' }
		]
	}
];

export function productFields(priceIn: string) {
	return { new: [code, ...productFacts(priceIn)], change: productFacts(priceIn) };
}

export const SUPPLIER_FIELDS: readonly RecordField[] = [
	{ name: 'lead_days', label: 'Order to arrival', unit: 'days', optional: true, ...whole }
];

/** An exchange rate of a day. */
export const RATES_FIELDS: readonly RecordField[] = [
	{ name: 'day', label: 'Day', type: 'date' },
	{ name: 'from', label: 'One of', hint: 'ISO 4217, such as USD' },
	{ name: 'rate', label: 'Is worth', ...decimal },
	{ name: 'to', label: 'Of', hint: 'ISO 4217, such as GBP' },
	{ name: 'source', label: 'Source', optional: true, hint: 'Where it was read' }
];
