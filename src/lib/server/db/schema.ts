/**
 * The records. Rules of this file:
 * 1. What happened is a row with who and when; it is never updated. A correction is a new row.
 * 2. Masses are integer grams, money integer minor units, prices `E4` (ten-thousandths of the currency's
 *    major unit), exchange rates `E6` (millionths), temperatures Celsius, instants UTC milliseconds, days
 *    ISO text in the site's zone.
 * 3. Rows that two people can edit carry `version`.
 * 4. Derived results that are dear (readings) are kept with the method that made them.
 */
import type { PostedAmounts } from '#lib/domain/cost/posting.ts';
import type { Role, Scope } from '#lib/domain/access/role.ts';
import type { Separations } from '#lib/domain/plan/changeover.ts';
import type { PlanBound, PlanCost, PlanWeights } from '#lib/domain/plan/objective.ts';
import type { WeekPlan } from '#lib/domain/plan/plan.ts';
import type { PlanProblem } from '#lib/domain/plan/problem.ts';
import type { KeyFigures } from '#lib/domain/release/change.ts';
import type { CuppingForm } from '#lib/domain/trial/cupping.ts';
import type { DrumSettingsGiven } from '#lib/domain/drum/settings.ts';
import type { RecipeStandard } from '#lib/domain/trial/recipe.ts';
import type { FormYear } from '#lib/domain/trial/panel.ts';
import type { KeptProposal } from '#lib/domain/trial/proposal.ts';
import type { TestSettings } from '#lib/domain/trial/settings.ts';
import type { RuleSays, VerdictRule } from '#lib/domain/trial/verdictRule.ts';
import {
	blob,
	index,
	integer,
	primaryKey,
	real,
	sqliteTable,
	text,
	uniqueIndex
} from 'drizzle-orm/sqlite-core';

const id = () => integer('id').primaryKey({ autoIncrement: true });
const version = () => integer('version').notNull().default(1);

/** The one site. Row 1 exists once first set-up is done. */
export const site = sqliteTable('site', {
	id: integer('id').primaryKey(),
	name: text('name').notNull(),
	timeZone: text('time_zone').notNull(),
	currency: text('currency').notNull(),
	altitudeM: integer('altitude_m').notNull(),
	/** Days between a lot's release and the day production needs it. */
	releaseLeadDays: integer('release_lead_days').notNull(),
	/** Hours from roasting a test to the earliest next test: rest, cupping, verdict. */
	cuppingLagHours: integer('cupping_lag_hours').notNull(),
	/** Working days from one test of a lot to its next, as planned. */
	testCycleDays: integer('test_cycle_days').notNull(),
	/** Days from an order of green coffee to its arrival. */
	supplierLeadDays: integer('supplier_lead_days').notNull().default(60),
	version: version()
});

export const roaster = sqliteTable('roaster', {
	id: id(),
	code: text('code').notNull().unique(),
	name: text('name').notNull(),
	minChargeG: integer('min_charge_g').notNull(),
	maxChargeG: integer('max_charge_g').notNull(),
	warmUpMin: integer('warm_up_min').notNull(),
	/** One batch from charge to the next charge. */
	cycleMin: integer('cycle_min').notNull(),
	/** Minutes in the drum, part of the cycle. */
	roastMin: integer('roast_min').notNull(),
	/** Cleaning when decaf or certified separation asks for it. */
	cleaningMin: integer('cleaning_min').notNull(),
	/** What the burner can be set to, % of its range, as its maker and the site allow. */
	gasMinPct: real('gas_min_pct').notNull().default(0),
	gasMaxPct: real('gas_max_pct').notNull().default(100),
	gasStepPct: real('gas_step_pct').notNull().default(1),
	note: text('note').notNull().default(''),
	/** Of its week of shifts, which is edited apart from the machine. */
	shiftsVersion: integer('shifts_version').notNull().default(1),
	version: version()
});

/** How long a supplier's coffee takes, where it isn't as the site has it. */
export const supplierLead = sqliteTable('supplier_lead', {
	id: id(),
	/** As lots name it. */
	supplier: text('supplier').notNull().unique(),
	/** Days from an order of green coffee to its arrival. */
	leadDays: integer('lead_days').notNull(),
	version: version()
});

export const shift = sqliteTable(
	'shift',
	{
		id: id(),
		roasterId: integer('roaster_id')
			.notNull()
			.references(() => roaster.id),
		/** ISO weekday, Monday is 1. */
		weekday: integer('weekday').notNull(),
		/** Minutes after local midnight. */
		startMin: integer('start_min').notNull(),
		endMin: integer('end_min').notNull()
	},
	(t) => [index('shift_roaster').on(t.roasterId)]
);

/** What running a roaster costs from a day on; the latest row not after a batch's day applies. */
export const costRate = sqliteTable(
	'cost_rate',
	{
		id: id(),
		roasterId: integer('roaster_id')
			.notNull()
			.references(() => roaster.id),
		fromDay: text('from_day').notNull(),
		currency: text('currency').notNull(),
		/** Of the burner: gas, or whatever heats. */
		energyKwhPerBatch: real('energy_kwh_per_batch').notNull(),
		energyKwhPerKgGreen: real('energy_kwh_per_kg_green').notNull(),
		energyPriceE4PerKwh: integer('energy_price_e4_per_kwh').notNull(),
		labourMinorPerHour: integer('labour_minor_per_hour').notNull(),
		machineMinorPerHour: integer('machine_minor_per_hour').notNull(),
		qualityMinorPerHour: integer('quality_minor_per_hour').notNull(),
		labourMinPerBatch: integer('labour_min_per_batch').notNull(),
		qualityMinPerTest: integer('quality_min_per_test').notNull(),
		/** Of motors, fans and the afterburner's control. */
		powerKwhPerBatch: real('power_kwh_per_batch').notNull().default(0),
		powerKwhPerKgGreen: real('power_kwh_per_kg_green').notNull().default(0),
		powerPriceE4PerKwh: integer('power_price_e4_per_kwh').notNull().default(0),
		/** Straight-line depreciation; a machine of no life has none. */
		machineCostMinor: integer('machine_cost_minor').notNull().default(0),
		machineResidualMinor: integer('machine_residual_minor').notNull().default(0),
		machineLifeYears: integer('machine_life_years').notNull().default(0),
		machineHoursPerYear: integer('machine_hours_per_year').notNull().default(0),
		version: version()
	},
	(t) => [uniqueIndex('cost_rate_from').on(t.roasterId, t.fromDay)]
);

export const product = sqliteTable('product', {
	id: id(),
	code: text('code').notNull().unique(),
	name: text('name').notNull(),
	/** light, medium or dark: light is roasted before dark. */
	shade: text('shade').notNull(),
	priceMinorPerKg: integer('price_minor_per_kg').notNull(),
	/** What a cupping has to show before its coffee is approved; null asks for nothing. */
	verdictRule: text('verdict_rule', { mode: 'json' }).$type<VerdictRule>(),
	/** When the rule was last changed: it holds for verdicts from then on. */
	verdictRuleSetAt: integer('verdict_rule_set_at'),
	version: version()
});

/** What a product is made of from a day on; a later block of rows replaces the earlier one. */
export const blendPart = sqliteTable(
	'blend_part',
	{
		id: id(),
		productId: integer('product_id')
			.notNull()
			.references(() => product.id),
		fromDay: text('from_day').notNull(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		sharePermille: integer('share_permille').notNull(),
		/** How far the share may go when a lot runs short; the share itself where null. */
		leastPermille: integer('least_permille'),
		mostPermille: integer('most_permille'),
		/** Lots that may stand in for this one, the first choice first. */
		substituteLotIds: text('substitute_lot_ids', { mode: 'json' })
			.$type<readonly number[]>()
			.notNull()
			.default([])
	},
	(t) => [uniqueIndex('blend_part_lot').on(t.productId, t.fromDay, t.lotId)]
);

export const demand = sqliteTable(
	'demand',
	{
		productId: integer('product_id')
			.notNull()
			.references(() => product.id),
		week: text('week').notNull(),
		roastedG: integer('roasted_g').notNull(),
		recordedAt: integer('recorded_at').notNull(),
		by: text('by').notNull()
	},
	(t) => [primaryKey({ columns: [t.productId, t.week] })]
);

export const lot = sqliteTable(
	'lot',
	{
		id: id(),
		code: text('code').notNull().unique(),
		name: text('name').notNull(),
		kind: text('kind').notNull(),
		/** ISO 3166-1 alpha-2. */
		country: text('country').notNull(),
		producer: text('producer').notNull(),
		supplier: text('supplier').notNull(),
		variety: text('variety').notNull(),
		cropYear: text('crop_year').notNull(),
		bagG: integer('bag_g').notNull(),
		bagsExpected: integer('bags_expected').notNull(),
		expectedOn: text('expected_on'),
		organic: integer('organic', { mode: 'boolean' }).notNull(),
		decaf: integer('decaf', { mode: 'boolean' }).notNull(),
		replacesLotId: integer('replaces_lot_id'),
		forProductId: integer('for_product_id').references(() => product.id),
		neededOn: text('needed_on'),
		note: text('note').notNull().default(''),
		createdAt: integer('created_at').notNull(),
		createdBy: text('created_by').notNull(),
		version: version()
	},
	(t) => [index('lot_replaces').on(t.replacesLotId)]
);

/** Stands in `fx_e6` of terms that state no rate: the table of exchange rates tells it. */
export const BY_THE_TABLE = 0;

/** Price terms as agreed; the latest row counts, earlier ones stay as history. */
export const priceTerms = sqliteTable(
	'price_terms',
	{
		id: id(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		agreedOn: text('agreed_on').notNull(),
		basis: text('basis').notNull(),
		priceE4: integer('price_e4').notNull(),
		differentialE4: integer('differential_e4').notNull(),
		per: text('per').notNull(),
		currency: text('currency').notNull(),
		fxE6: integer('fx_e6').notNull(),
		fxOn: text('fx_on').notNull(),
		incoterm: text('incoterm').notNull(),
		freightMinor: integer('freight_minor').notNull(),
		insurancePpm: integer('insurance_ppm').notNull(),
		dutyPpm: integer('duty_ppm').notNull(),
		portMinor: integer('port_minor').notNull(),
		warehouseMinor: integer('warehouse_minor').notNull(),
		financeDays: integer('finance_days').notNull(),
		financeRatePpm: integer('finance_rate_ppm').notNull(),
		/** Green grams on the seller's shipping document; null where what was received is paid. */
		shippedG: integer('shipped_g'),
		/** Loss in weight that the buyer bears, millionths of the shipped mass; null claims nothing. */
		franchisePpm: integer('franchise_ppm'),
		/** From when these terms count: never within a period that was closed when they were recorded. */
		postedAt: integer('posted_at').notNull().default(0),
		recordedAt: integer('recorded_at').notNull(),
		by: text('by').notNull()
	},
	(t) => [index('price_terms_lot').on(t.lotId)]
);

/** Exchange rates by day and pair. A correction is a new row: the newest of a day and pair counts. */
export const exchangeRate = sqliteTable(
	'exchange_rate',
	{
		id: id(),
		day: text('day').notNull(),
		fromCurrency: text('from_currency').notNull(),
		toCurrency: text('to_currency').notNull(),
		/** Millionths of one `to` for one `from`. */
		rateE6: integer('rate_e6').notNull(),
		source: text('source').notNull().default(''),
		recordedAt: integer('recorded_at').notNull(),
		by: text('by').notNull()
	},
	(t) => [index('exchange_rate_day').on(t.day)]
);

/** What was invoiced for a lot after its terms were agreed; it replaces the estimate of its kind. */
export const invoice = sqliteTable(
	'invoice',
	{
		id: id(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		day: text('day').notNull(),
		kind: text('kind').notNull(),
		/** Number on the document. */
		number: text('number').notNull(),
		/** In minor units of `currency`, above zero for a credit note too. */
		amountMinor: integer('amount_minor').notNull(),
		currency: text('currency').notNull(),
		/** Millionths of one unit of the site's currency; null where the day's rate counts. */
		fxE6: integer('fx_e6'),
		note: text('note').notNull().default(''),
		/** From when it counts: never within a period that was closed when it was recorded. */
		postedAt: integer('posted_at').notNull(),
		recordedAt: integer('recorded_at').notNull(),
		by: text('by').notNull()
	},
	(t) => [index('invoice_lot').on(t.lotId)]
);

/** A month that is closed, and every month before it. There is no opening again. */
export const periodClose = sqliteTable('period_close', {
	/** `2026-10`. */
	month: text('month').primaryKey(),
	at: integer('at').notNull(),
	by: text('by').notNull(),
	note: text('note').notNull().default('')
});

/** What a test counted for in a month, kept when the month was closed: it doesn't change any more. */
export const testPosting = sqliteTable(
	'test_posting',
	{
		testBatchId: integer('test_batch_id')
			.notNull()
			.references(() => testBatch.id),
		/** The month it counts in: that of the roast, or the first open one of what was recorded late. */
		month: text('month').notNull(),
		/** Its amounts by part (domain/cost/posting), as JSON. */
		amounts: text('amounts', { mode: 'json' }).notNull().$type<PostedAmounts>()
	},
	(t) => [primaryKey({ columns: [t.testBatchId, t.month] })]
);

/** A bag of a lot, opened by the movement that received it. */
export const bag = sqliteTable(
	'bag',
	{
		id: id(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		number: integer('number').notNull(),
		/** Whether it was weighed by itself; else its weight is an even share of its delivery. */
		weighed: integer('weighed', { mode: 'boolean' }).notNull()
	},
	(t) => [uniqueIndex('bag_number').on(t.lotId, t.number)]
);

/** The parts of a movement by bag; they sum to it. */
export const bagMovement = sqliteTable(
	'bag_movement',
	{
		movementId: integer('movement_id')
			.notNull()
			.references(() => movement.id),
		bagId: integer('bag_id')
			.notNull()
			.references(() => bag.id),
		/** Signed grams. */
		massG: integer('mass_g').notNull(),
		/** Whether a person named the bag; else it was taken in the order of numbers. */
		named: integer('named', { mode: 'boolean' }).notNull()
	},
	(t) => [primaryKey({ columns: [t.movementId, t.bagId] }), index('bag_movement_bag').on(t.bagId)]
);

/** The stock ledger: it only grows. */
export const movement = sqliteTable(
	'movement',
	{
		id: id(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		/** When it counts: never within a period that was closed when it was recorded. */
		at: integer('at').notNull(),
		/** When it happened, where that is in a period closed by then; else null. */
		happenedAt: integer('happened_at'),
		kind: text('kind').notNull(),
		/** Signed grams of green coffee. */
		massG: integer('mass_g').notNull(),
		reason: text('reason').notNull(),
		sampleId: integer('sample_id'),
		testBatchId: integer('test_batch_id'),
		productionId: integer('production_id'),
		recordedAt: integer('recorded_at').notNull(),
		by: text('by').notNull()
	},
	(t) => [index('movement_lot').on(t.lotId, t.at)]
);

export const measurement = sqliteTable(
	'measurement',
	{
		id: id(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		stage: text('stage').notNull(),
		at: integer('at').notNull(),
		/** Wet basis, %. */
		moisturePct: real('moisture_pct'),
		waterActivity: real('water_activity'),
		densityGL: real('density_g_l'),
		screen16UpPct: real('screen_16_up_pct'),
		defectsPer300G: integer('defects_per_300g'),
		by: text('by').notNull(),
		recordedAt: integer('recorded_at').notNull()
	},
	(t) => [index('measurement_lot').on(t.lotId)]
);

/** A log as it came, byte for byte, with how it was understood. */
export const roastLog = sqliteTable('roast_log', {
	id: id(),
	kind: text('kind').notNull(),
	fileName: text('file_name').notNull(),
	sha256: text('sha256').notNull().unique(),
	bytes: blob('bytes', { mode: 'buffer' }).notNull(),
	mapping: text('mapping', { mode: 'json' }).notNull(),
	marks: text('marks', { mode: 'json' }).notNull(),
	rows: integer('rows').notNull(),
	notes: text('notes', { mode: 'json' }).notNull(),
	recordedAt: integer('recorded_at').notNull(),
	by: text('by').notNull()
});

/** One typed column a channel, Float32, with its unit in the channel's name; `timeS` is one of them. */
export const roastLogColumn = sqliteTable(
	'roast_log_column',
	{
		logId: integer('log_id')
			.notNull()
			.references(() => roastLog.id),
		channel: text('channel').notNull(),
		values: blob('values', { mode: 'buffer' }).notNull()
	},
	(t) => [primaryKey({ columns: [t.logId, t.channel] })]
);

export const sampleRoast = sqliteTable(
	'sample_roast',
	{
		id: id(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		stage: text('stage').notNull(),
		roastedAt: integer('roasted_at').notNull(),
		chargeG: real('charge_g'),
		outG: real('out_g'),
		airFlowGS: real('air_flow_g_s'),
		sensorLagS: real('sensor_lag_s'),
		/** Seconds from charge, marked by ear. */
		earCrackS: real('ear_crack_s'),
		logId: integer('log_id')
			.notNull()
			.unique()
			.references(() => roastLog.id),
		note: text('note').notNull().default(''),
		by: text('by').notNull(),
		recordedAt: integer('recorded_at').notNull()
	},
	(t) => [index('sample_roast_lot').on(t.lotId)]
);

/** The reading of a sample's log; re-made when the method changes. `result` is a SampleReading. */
export const reading = sqliteTable('reading', {
	sampleId: integer('sample_id')
		.primaryKey()
		.references(() => sampleRoast.id),
	method: text('method').notNull(),
	result: text('result', { mode: 'json' }),
	problems: text('problems', { mode: 'json' }).notNull(),
	madeAt: integer('made_at').notNull()
});

/**
 * The fingerprint of a reading, made with it; the newest methods count. `curve` is Float32, per mille of
 * all released water a degree from the lowest of its axis; null where there is none, and `problems` say
 * why.
 */
export const fingerprint = sqliteTable('fingerprint', {
	sampleId: integer('sample_id')
		.primaryKey()
		.references(() => sampleRoast.id),
	method: text('method').notNull(),
	readingMethod: text('reading_method').notNull(),
	axis: text('axis'),
	curve: blob('curve', { mode: 'buffer' }),
	knownFromC: real('known_from_c'),
	knownToC: real('known_to_c'),
	features: text('features', { mode: 'json' }),
	problems: text('problems', { mode: 'json' }).notNull(),
	madeAt: integer('made_at').notNull()
});

/**
 * A reading anew of every log whose reading is by an older method. It goes on after a stop: what is left
 * to read is told by the readings themselves. `done` and `changed` only grow.
 */
export const rereading = sqliteTable('rereading', {
	id: id(),
	/** Methods that it reads to, of readings and of fingerprints. */
	method: text('method').notNull(),
	fingerprintMethod: text('fingerprint_method').notNull(),
	startedAt: integer('started_at').notNull(),
	by: text('by').notNull(),
	/** Logs to read when it started. */
	total: integer('total').notNull(),
	done: integer('done').notNull().default(0),
	changed: integer('changed').notNull().default(0),
	/** Logs that broke the reader; they keep their old reading. */
	failed: integer('failed').notNull().default(0),
	/** Milliseconds spent reading, stops left out. */
	spentMs: integer('spent_ms').notNull().default(0),
	/** Last write of the worker. */
	seenAt: integer('seen_at').notNull(),
	finishedAt: integer('finished_at')
});

/** A reading that came out otherwise, or a log that broke the reader. */
export const readingChange = sqliteTable(
	'reading_change',
	{
		rereadingId: integer('rereading_id')
			.notNull()
			.references(() => rereading.id),
		sampleId: integer('sample_id')
			.notNull()
			.references(() => sampleRoast.id),
		/** Method that the old reading was by. */
		fromMethod: text('from_method').notNull(),
		/** KeyFigures of both readings; null where the log could not be read. */
		before: text('before', { mode: 'json' }).$type<KeyFigures>(),
		after: text('after', { mode: 'json' }).$type<KeyFigures>(),
		/** Why the log broke the reader; null where it was read. */
		failure: text('failure'),
		at: integer('at').notNull()
	},
	(t) => [primaryKey({ columns: [t.rereadingId, t.sampleId] })]
);

/** A test as planned. What it led to is in test_roast, cupping and verdict. */
export const testBatch = sqliteTable(
	'test_batch',
	{
		id: id(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		number: integer('number').notNull(),
		plannedAt: integer('planned_at').notNull(),
		plannedBy: text('planned_by').notNull(),
		purpose: text('purpose').notNull(),
		/** The one thing that changes against the test before. */
		change: text('change').notNull(),
		roasterId: integer('roaster_id')
			.notNull()
			.references(() => roaster.id),
		settings: text('settings', { mode: 'json' }).$type<TestSettings>().notNull(),
		withdrawnAt: integer('withdrawn_at'),
		version: version()
	},
	(t) => [uniqueIndex('test_batch_number').on(t.lotId, t.number)]
);

/** The proposal that a test's form was filled from, as it was made then. */
export const testProposal = sqliteTable('test_proposal', {
	testBatchId: integer('test_batch_id')
		.primaryKey()
		.references(() => testBatch.id),
	/** `heat demand` or `one change`. */
	kind: text('kind').notNull(),
	proposal: text('proposal', { mode: 'json' }).$type<KeptProposal>().notNull(),
	/** The person planned something else than was proposed. */
	edited: integer('edited', { mode: 'boolean' }).notNull(),
	at: integer('at').notNull(),
	by: text('by').notNull()
});

export const testRoast = sqliteTable('test_roast', {
	testBatchId: integer('test_batch_id')
		.primaryKey()
		.references(() => testBatch.id),
	roastedAt: integer('roasted_at').notNull(),
	chargeG: integer('charge_g').notNull(),
	outG: integer('out_g').notNull(),
	logId: integer('log_id')
		.unique()
		.references(() => roastLog.id),
	note: text('note').notNull().default(''),
	by: text('by').notNull(),
	recordedAt: integer('recorded_at').notNull()
});

/** A cupping of several coffees, blind: the codes of its cups are drawn from the seed. */
export const cuppingSession = sqliteTable('cupping_session', {
	id: id(),
	name: text('name').notNull(),
	/** '2004' or '2024': every sheet of a session is on one form. */
	form: text('form').$type<FormYear>().notNull(),
	seed: integer('seed').notNull(),
	openedAt: integer('opened_at').notNull(),
	openedBy: text('opened_by').notNull(),
	/** Null while it is open: what the codes stand for is not shown before. */
	closedAt: integer('closed_at'),
	closedBy: text('closed_by'),
	version: version()
});

/** A coffee on the table of a session: a test, a sample or a reference. On it twice, it has two rows. */
export const sessionCup = sqliteTable(
	'session_cup',
	{
		id: id(),
		sessionId: integer('session_id')
			.notNull()
			.references(() => cuppingSession.id),
		/** From 1, as the coffees were named when the session was opened; never shown before it is closed. */
		place: integer('place').notNull(),
		code: text('code').notNull(),
		testBatchId: integer('test_batch_id').references(() => testBatch.id),
		sampleId: integer('sample_id').references(() => sampleRoast.id),
		/** Name of a coffee that has no record here. */
		reference: text('reference')
	},
	(t) => [
		uniqueIndex('session_cup_code').on(t.sessionId, t.code),
		uniqueIndex('session_cup_place').on(t.sessionId, t.place)
	]
);

/** A cupper's sheet of one cup as typed so far; at closing what is complete becomes a cupping. */
export const sessionSheet = sqliteTable(
	'session_sheet',
	{
		id: id(),
		cupId: integer('cup_id')
			.notNull()
			.references(() => sessionCup.id),
		by: text('by').notNull(),
		/** Fields of the form as typed, with `descriptors` and `note`. */
		fields: text('fields', { mode: 'json' }).$type<Readonly<Record<string, string>>>().notNull(),
		savedAt: integer('saved_at').notNull(),
		version: version()
	},
	(t) => [uniqueIndex('session_sheet_by').on(t.cupId, t.by)]
);

/** Who looked at what the codes of a session stand for before it was closed: not blind any more. */
export const sessionKeySeen = sqliteTable(
	'session_key_seen',
	{
		sessionId: integer('session_id')
			.notNull()
			.references(() => cuppingSession.id),
		by: text('by').notNull(),
		at: integer('at').notNull()
	},
	(t) => [primaryKey({ columns: [t.sessionId, t.by] })]
);

/** A filled sheet: a test's own, or one of a closed session, whose cup says what it is of. */
export const cupping = sqliteTable(
	'cupping',
	{
		id: id(),
		testBatchId: integer('test_batch_id').references(() => testBatch.id),
		sampleId: integer('sample_id').references(() => sampleRoast.id),
		/** Null for a sheet of its own. With it and neither test nor sample it is of a reference. */
		sessionCupId: integer('session_cup_id').references(() => sessionCup.id),
		cuppedAt: integer('cupped_at').notNull(),
		/** CuppingForm: the sum form of 2004 or the affective form of 2024, every field. */
		sheet: text('sheet', { mode: 'json' }).$type<CuppingForm>().notNull(),
		descriptors: text('descriptors').notNull(),
		note: text('note').notNull().default(''),
		by: text('by').notNull(),
		recordedAt: integer('recorded_at').notNull()
	},
	(t) => [
		index('cupping_test').on(t.testBatchId),
		index('cupping_sample').on(t.sampleId),
		index('cupping_session_cup').on(t.sessionCupId)
	]
);

/** One verdict a test; a changed mind is a new test or a re-opening. */
export const verdict = sqliteTable('verdict', {
	testBatchId: integer('test_batch_id')
		.primaryKey()
		.references(() => testBatch.id),
	at: integer('at').notNull(),
	verdict: text('verdict').notNull(),
	reason: text('reason').notNull(),
	/** What the product's rule said of it, as RuleSays; null where no rule held. */
	ruleSaid: text('rule_said').$type<RuleSays>(),
	/** Why the verdict goes against that; null where it doesn't. */
	againstReason: text('against_reason'),
	by: text('by').notNull(),
	recordedAt: integer('recorded_at').notNull()
});

/** What became of a test's roasted coffee. */
export const recovery = sqliteTable(
	'recovery',
	{
		id: id(),
		testBatchId: integer('test_batch_id')
			.notNull()
			.references(() => testBatch.id),
		at: integer('at').notNull(),
		kind: text('kind').notNull(),
		/** Roasted grams. */
		massG: integer('mass_g').notNull(),
		valueMinor: integer('value_minor').notNull(),
		productId: integer('product_id').references(() => product.id),
		by: text('by').notNull(),
		recordedAt: integer('recorded_at').notNull()
	},
	(t) => [index('recovery_test').on(t.testBatchId)]
);

/** Made from an approved test; the latest version of a lot counts. */
export const recipe = sqliteTable(
	'recipe',
	{
		id: id(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		version: integer('recipe_version').notNull(),
		testBatchId: integer('test_batch_id')
			.notNull()
			.references(() => testBatch.id),
		roasterId: integer('roaster_id')
			.notNull()
			.references(() => roaster.id),
		chargeG: integer('charge_g').notNull(),
		settings: text('settings', { mode: 'json' }).$type<TestSettings>().notNull(),
		/** Weight loss of the approved test, parts per million. */
		weightLossPpm: integer('weight_loss_ppm').notNull(),
		/** What batches are held to; null on recipes made before one was kept. */
		standard: text('standard', { mode: 'json' }).$type<RecipeStandard>(),
		/** Why there is this version: the verdict, or what a person changed it for. */
		reason: text('reason').notNull().default(''),
		approvedAt: integer('approved_at').notNull(),
		by: text('by').notNull()
	},
	(t) => [uniqueIndex('recipe_version').on(t.lotId, t.version)]
);

export const release = sqliteTable(
	'release',
	{
		id: id(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		recipeId: integer('recipe_id')
			.notNull()
			.references(() => recipe.id),
		at: integer('at').notNull(),
		roastingBy: text('roasting_by').notNull(),
		qualityBy: text('quality_by').notNull(),
		descriptors: text('descriptors').notNull(),
		priceMinorPerKg: integer('price_minor_per_kg').notNull(),
		recordedAt: integer('recorded_at').notNull()
	},
	(t) => [index('release_lot').on(t.lotId)]
);

/** A released lot sent back to test, or a lot rejected before release. */
export const lotTurn = sqliteTable(
	'lot_turn',
	{
		id: id(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		/** 'reopened' or 'rejected'. */
		turn: text('turn').notNull(),
		at: integer('at').notNull(),
		reason: text('reason').notNull(),
		by: text('by').notNull(),
		recordedAt: integer('recorded_at').notNull()
	},
	(t) => [index('lot_turn_lot').on(t.lotId)]
);

/** A production batch that was roasted. */
export const production = sqliteTable(
	'production',
	{
		id: id(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		productId: integer('product_id')
			.notNull()
			.references(() => product.id),
		roasterId: integer('roaster_id')
			.notNull()
			.references(() => roaster.id),
		roastedAt: integer('roasted_at').notNull(),
		chargeG: integer('charge_g').notNull(),
		outG: integer('out_g').notNull(),
		logId: integer('log_id').references(() => roastLog.id),
		by: text('by').notNull(),
		recordedAt: integer('recorded_at').notNull()
	},
	(t) => [
		uniqueIndex('production_log').on(t.logId),
		index('production_lot').on(t.lotId),
		index('production_at').on(t.roastedAt)
	]
);

/** Meters read for one batch; the newest row of a batch counts, and what it leaves out goes by rate. */
export const energyReading = sqliteTable(
	'energy_reading',
	{
		id: id(),
		testBatchId: integer('test_batch_id').references(() => testBatch.id),
		productionId: integer('production_id').references(() => production.id),
		/** Watt-hours of gas; null where its meter was not read. */
		gasWh: integer('gas_wh'),
		/** Watt-hours of power; null where its meter was not read. */
		powerWh: integer('power_wh'),
		readAt: integer('read_at').notNull().default(0),
		by: text('by').notNull(),
		recordedAt: integer('recorded_at').notNull()
	},
	(t) => [
		index('energy_reading_test').on(t.testBatchId),
		index('energy_reading_production').on(t.productionId)
	]
);

/** What testing may cost net in a month (`2026-11`) or a year (`2026`). */
export const testBudget = sqliteTable('test_budget', {
	period: text('period').primaryKey(),
	amountMinor: integer('amount_minor').notNull(),
	recordedAt: integer('recorded_at').notNull(),
	by: text('by').notNull(),
	version: version()
});

/** The account of the books that a side of the test costs is posted to, where it is not the usual one. */
export const journalAccount = sqliteTable('journal_account', {
	side: text('side').primaryKey(),
	code: text('code').notNull(),
	name: text('name').notNull(),
	version: version()
});

/** The colour of a batch's roasted coffee as measured, of a test or of production; the last one counts. */
export const colour = sqliteTable(
	'colour',
	{
		id: id(),
		testBatchId: integer('test_batch_id').references(() => testBatch.id),
		productionId: integer('production_id').references(() => production.id),
		value: real('value').notNull(),
		/** The roastery's own name of the scale. */
		scale: text('scale').notNull(),
		at: integer('at').notNull(),
		by: text('by').notNull(),
		recordedAt: integer('recorded_at').notNull()
	},
	(t) => [index('colour_test').on(t.testBatchId), index('colour_production').on(t.productionId)]
);

/** How a roaster's drum logs are read, what differs from the default; the newest version counts. */
export const drumSetting = sqliteTable(
	'drum_setting',
	{
		id: id(),
		roasterId: integer('roaster_id')
			.notNull()
			.references(() => roaster.id),
		version: integer('setting_version').notNull(),
		given: text('given', { mode: 'json' }).$type<DrumSettingsGiven>().notNull(),
		reason: text('reason').notNull().default(''),
		at: integer('at').notNull(),
		by: text('by').notNull()
	},
	(t) => [uniqueIndex('drum_setting_version').on(t.roasterId, t.version)]
);

/** A planned slot on a roaster. A week's unlocked slots are replaced when it is planned again. */
export const slot = sqliteTable(
	'slot',
	{
		id: id(),
		week: text('week').notNull(),
		roasterId: integer('roaster_id')
			.notNull()
			.references(() => roaster.id),
		startAt: integer('start_at').notNull(),
		endAt: integer('end_at').notNull(),
		kind: text('kind').notNull(),
		lotId: integer('lot_id')
			.notNull()
			.references(() => lot.id),
		productId: integer('product_id').references(() => product.id),
		testBatchId: integer('test_batch_id').references(() => testBatch.id),
		chargeG: integer('charge_g').notNull(),
		dueAt: integer('due_at').notNull(),
		why: text('why', { mode: 'json' }).notNull(),
		locked: integer('locked', { mode: 'boolean' }).notNull().default(false),
		/** When the floor recorded what happened; start and end are then what they really were. */
		recordedAt: integer('recorded_at'),
		/** Where it was planned, once the floor recorded it or it bent to what the floor recorded. */
		plannedStartAt: integer('planned_start_at'),
		/** The record that a production slot became; a test's is the roast of its test batch. */
		productionId: integer('production_id').references(() => production.id),
		/** What the floor noted. */
		note: text('note').notNull().default('')
	},
	(t) => [index('slot_week').on(t.week)]
);

/** An act on a week's plan with what it replaced, so that the last one can be taken back. */
export const weekChange = sqliteTable(
	'week_change',
	{
		id: id(),
		week: text('week').notNull(),
		at: integer('at').notNull(),
		by: text('by').notNull(),
		/** What was done, for a person: `moved HR-151 for House to Tue 10:00`. */
		what: text('what').notNull(),
		/** Version of the week's plan after it. */
		version: integer('version').notNull(),
		/** The week's slots and its plan as they were before; null where there was no plan. */
		slotsBefore: text('slots_before', { mode: 'json' }).notNull(),
		planBefore: text('plan_before', { mode: 'json' }),
		undoneAt: integer('undone_at')
	},
	(t) => [index('week_change_week').on(t.week, t.version)]
);

/** A calendar at a secret address: the slots of a roaster, or what one person planned and cups. */
export const calendarFeed = sqliteTable('calendar_feed', {
	id: id(),
	/** SHA-256 of the secret, which is shown once. */
	hash: text('hash').notNull().unique(),
	/** Who made it and may end it. */
	userId: integer('user_id')
		.notNull()
		.references(() => user.id),
	/** Null for the person's own calendar. */
	roasterId: integer('roaster_id').references(() => roaster.id),
	createdAt: integer('created_at').notNull(),
	endedAt: integer('ended_at')
});

/** The act of planning a week: when, by whom, and what did not fit. */
export const weekPlan = sqliteTable('week_plan', {
	week: text('week').primaryKey(),
	plannedAt: integer('planned_at').notNull(),
	by: text('by').notNull(),
	unplaced: text('unplaced', { mode: 'json' }).notNull(),
	usage: text('usage', { mode: 'json' }).notNull(),
	/** What it costs by the weights of then; null in plans made before there were weights. */
	cost: text('cost', { mode: 'json' }).$type<PlanCost>(),
	version: version()
});

/** What planning goes by. Row 1 exists once it was changed from the usual. */
export const planSettings = sqliteTable('plan_settings', {
	id: integer('id').primaryKey(),
	weights: text('weights', { mode: 'json' }).$type<PlanWeights>().notNull(),
	separations: text('separations', { mode: 'json' }).$type<Separations>().notNull(),
	/** Minutes that a shift may run on. */
	overtimeMin: integer('overtime_min').notNull(),
	version: version()
});

/** Hours of a weekday: breaks of a roaster or of all, and when somebody for profiling is there. */
export const planHours = sqliteTable('plan_hours', {
	id: id(),
	/** 'break' or 'profiling'. */
	kind: text('kind').notNull(),
	/** Null for all roasters. */
	roasterId: integer('roaster_id').references(() => roaster.id),
	/** ISO weekday, Monday is 1. */
	weekday: integer('weekday').notNull(),
	/** Minutes after local midnight. */
	startMin: integer('start_min').notNull(),
	endMin: integer('end_min').notNull()
});

/** Days on which a roaster, or the whole roastery, does not run; both ends included. */
export const closure = sqliteTable('closure', {
	id: id(),
	/** Null for all roasters. */
	roasterId: integer('roaster_id').references(() => roaster.id),
	fromDay: text('from_day').notNull(),
	toDay: text('to_day').notNull(),
	reason: text('reason').notNull()
});

/** Hours of one day beside the usual week: an extra shift, somebody for profiling, a stoppage. */
export const dayHours = sqliteTable('day_hours', {
	id: id(),
	/** 'shift', 'profiling' or 'stoppage'. */
	kind: text('kind').notNull(),
	/** Null for profiling, and for a stoppage of all roasters. */
	roasterId: integer('roaster_id').references(() => roaster.id),
	day: text('day').notNull(),
	/** Minutes after local midnight. */
	startMin: integer('start_min').notNull(),
	endMin: integer('end_min').notNull(),
	reason: text('reason').notNull().default('')
});

/** What may not run on a roaster in production: a product, or a kind of lot. One of the two is set. */
export const roasterBar = sqliteTable('roaster_bar', {
	id: id(),
	roasterId: integer('roaster_id')
		.notNull()
		.references(() => roaster.id),
	productId: integer('product_id').references(() => product.id),
	lotKind: text('lot_kind')
});

/** Products that carry a flavour over to what follows them. */
export const flavouredProduct = sqliteTable('flavoured_product', {
	productId: integer('product_id')
		.primaryKey()
		.references(() => product.id)
});

/** The search for a better plan of a week, the newest only; `plan` is the best so far. */
export const planSearch = sqliteTable('plan_search', {
	week: text('week').primaryKey(),
	startedAt: integer('started_at').notNull(),
	by: text('by').notNull(),
	seed: integer('seed').notNull(),
	/** Steps to take in all, and taken. */
	budget: integer('budget').notNull(),
	steps: integer('steps').notNull().default(0),
	/** The PlanProblem that it works on, as it was when the search started. */
	problem: text('problem', { mode: 'json' }).$type<PlanProblem>().notNull(),
	weights: text('weights', { mode: 'json' }).$type<PlanWeights>().notNull(),
	startCost: real('start_cost').notNull(),
	plan: text('plan', { mode: 'json' }).$type<WeekPlan>().notNull(),
	cost: text('cost', { mode: 'json' }).$type<PlanCost>().notNull(),
	/** Cost at each betterment, by steps. */
	course: text('course', { mode: 'json' })
		.$type<readonly { steps: number; cost: number }[]>()
		.notNull(),
	/** A proven least cost of the week, and the method that proves it; null where there is none. */
	bound: text('bound', { mode: 'json' }).$type<PlanBound>(),
	stopAsked: integer('stop_asked', { mode: 'boolean' }).notNull().default(false),
	/** Last write of the worker. */
	seenAt: integer('seen_at').notNull(),
	finishedAt: integer('finished_at'),
	failure: text('failure')
});

/** A corrected mapping, remembered for the next file of the same shape. */
export const mappingMemory = sqliteTable('mapping_memory', {
	shape: text('shape').primaryKey(),
	mapping: text('mapping', { mode: 'json' }).notNull(),
	usedAt: integer('used_at').notNull(),
	by: text('by').notNull()
});

/** Log files uploaded together, waiting to be looked at and committed or set aside. */
export const intake = sqliteTable('intake', {
	id: id(),
	openedAt: integer('opened_at').notNull(),
	by: text('by').notNull(),
	committedAt: integer('committed_at')
});

export const intakeFile = sqliteTable(
	'intake_file',
	{
		id: id(),
		intakeId: integer('intake_id')
			.notNull()
			.references(() => intake.id),
		fileName: text('file_name').notNull(),
		sha256: text('sha256').notNull(),
		bytes: blob('bytes', { mode: 'buffer' }).notNull(),
		/** LogMapping as guessed or corrected; null while the file could not be understood. */
		mapping: text('mapping', { mode: 'json' }),
		/** What the user says the file is: lot, stage or test, masses. */
		about: text('about', { mode: 'json' }),
		problems: text('problems', { mode: 'json' }).notNull(),
		version: version()
	},
	(t) => [index('intake_file_intake').on(t.intakeId)]
);

/** Each act: who, when, what, with the record it touched. Triggers of migration 'accounts' refuse any edit. */
export const audit = sqliteTable(
	'audit',
	{
		id: id(),
		at: integer('at').notNull(),
		/** The name that the record bears. */
		by: text('by').notNull(),
		/** Who did it: the account, null for the system, and its name then. */
		userId: integer('user_id'),
		actor: text('actor').notNull().default(''),
		act: text('act').notNull(),
		lotId: integer('lot_id'),
		detail: text('detail', { mode: 'json' }).notNull()
	},
	(t) => [index('audit_lot').on(t.lotId), index('audit_at').on(t.at)]
);

/** A person who may sign in. Nobody is ever removed: what they did keeps its name. */
export const user = sqliteTable('user', {
	id: id(),
	/** What the person types to sign in, in small letters. */
	login: text('login').notNull().unique(),
	/** The name that records bear. */
	name: text('name').notNull(),
	role: text('role').$type<Role>().notNull(),
	/** With the parameters it was made by (auth/password.ts). */
	password: text('password').notNull(),
	/** Base32 secret of the second factor; null without one. */
	totpSecret: text('totp_secret'),
	/** A secret that was shown and not yet proved. */
	totpPending: text('totp_pending'),
	/** The newest 30-second step whose code was taken: none is taken twice. */
	totpStep: integer('totp_step'),
	createdAt: integer('created_at').notNull(),
	/** Since when the person may not sign in any more. */
	endedAt: integer('ended_at')
});

/** Codes that stand in for the second factor, once each. */
export const recoveryCode = sqliteTable(
	'recovery_code',
	{
		id: id(),
		userId: integer('user_id')
			.notNull()
			.references(() => user.id),
		hash: text('hash').notNull(),
		usedAt: integer('used_at')
	},
	(t) => [index('recovery_code_user').on(t.userId)]
);

export const session = sqliteTable(
	'session',
	{
		id: id(),
		/** SHA-256 of what the cookie holds. */
		hash: text('hash').notNull().unique(),
		userId: integer('user_id')
			.notNull()
			.references(() => user.id),
		createdAt: integer('created_at').notNull(),
		/** Last use, to the minute. */
		seenAt: integer('seen_at').notNull(),
		endedAt: integer('ended_at'),
		/** What the browser said of itself. */
		browser: text('browser').notNull()
	},
	(t) => [index('session_user').on(t.userId)]
);

/** A link that makes an account, or lets one back in with a new password; it works once. */
export const invitation = sqliteTable('invitation', {
	id: id(),
	hash: text('hash').notNull().unique(),
	role: text('role').$type<Role>().notNull(),
	/** Whom it is for, as the inviter wrote it. */
	name: text('name').notNull(),
	/** The account that it lets back in; null where it makes a new one. */
	userId: integer('user_id').references(() => user.id),
	by: text('by').notNull(),
	createdAt: integer('created_at').notNull(),
	expiresAt: integer('expires_at').notNull(),
	usedAt: integer('used_at'),
	withdrawnAt: integer('withdrawn_at')
});

/** A token that a program acts by. */
export const apiToken = sqliteTable(
	'api_token',
	{
		id: id(),
		hash: text('hash').notNull().unique(),
		userId: integer('user_id')
			.notNull()
			.references(() => user.id),
		/** What it is for. */
		name: text('name').notNull(),
		scope: text('scope').$type<Scope>().notNull(),
		createdAt: integer('created_at').notNull(),
		expiresAt: integer('expires_at').notNull(),
		/** Last use, to the minute. */
		seenAt: integer('seen_at'),
		endedAt: integer('ended_at')
	},
	(t) => [index('api_token_user').on(t.userId)]
);

/** A key that a device or a key ring holds for a person (W3C Web Authentication). */
export const passkey = sqliteTable(
	'passkey',
	{
		id: id(),
		userId: integer('user_id')
			.notNull()
			.references(() => user.id),
		/** What the person calls it. */
		name: text('name').notNull(),
		/** The device's own name for it, base64url. */
		credentialId: text('credential_id').notNull().unique(),
		/** COSE public key. */
		publicKey: blob('public_key', { mode: 'buffer' }).notNull(),
		/** Uses that the device counted; a smaller one later tells of a copy. Many devices always say 0. */
		counter: integer('counter').notNull(),
		transports: text('transports', { mode: 'json' }).$type<readonly string[]>().notNull(),
		createdAt: integer('created_at').notNull(),
		seenAt: integer('seen_at'),
		endedAt: integer('ended_at')
	},
	(t) => [index('passkey_user').on(t.userId)]
);

/** What a device has to sign, once and soon. */
export const passkeyChallenge = sqliteTable('passkey_challenge', {
	id: id(),
	challenge: text('challenge').notNull().unique(),
	/** Who adds a passkey; null where somebody signs in. */
	userId: integer('user_id').references(() => user.id),
	createdAt: integer('created_at').notNull()
});

/** Failed tries to sign in, kept as long as they slow further ones. */
export const failedSignIn = sqliteTable(
	'failed_sign_in',
	{
		id: id(),
		at: integer('at').notNull(),
		/** As typed, in small letters; whether there is such an account or not. */
		login: text('login').notNull(),
		/** Where it came from. */
		address: text('address').notNull()
	},
	(t) => [
		index('failed_sign_in_login').on(t.login, t.at),
		index('failed_sign_in_address').on(t.address, t.at)
	]
);

/** A log that a program sends while the roast runs; `finishedAt` once it went into an intake. */
export const liveLog = sqliteTable('live_log', {
	/** A UUID that the sender made, so that starting twice is starting once. */
	id: text('id').primaryKey(),
	fileName: text('file_name').notNull(),
	/** Whose token sends it; null for the system. */
	userId: integer('user_id').references(() => user.id),
	startedAt: integer('started_at').notNull(),
	by: text('by').notNull(),
	finishedAt: integer('finished_at'),
	/** Of the whole file, once finished. */
	sha256: text('sha256'),
	intakeId: integer('intake_id').references(() => intake.id)
});

/** The parts of a live log as they came; removed once the file is in an intake. */
export const liveLogChunk = sqliteTable(
	'live_log_chunk',
	{
		liveLogId: text('live_log_id')
			.notNull()
			.references(() => liveLog.id),
		/** From 0 on, without gaps. */
		number: integer('number').notNull(),
		sha256: text('sha256').notNull(),
		bytes: blob('bytes', { mode: 'buffer' }).notNull()
	},
	(t) => [primaryKey({ columns: [t.liveLogId, t.number] })]
);
