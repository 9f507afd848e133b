import { addDays } from '#lib/domain/quantity/week.ts';
import { ANCHOR, isoWeekAt, minutesSeconds, mondayOfWeek, type Stamp } from './calendar.ts';
import { PEOPLE, PRODUCTS, ROASTERS, SITE, SUPPLIER_LEADS } from './cast.ts';
import { runCourse, type Course } from './course.ts';
import { demandTable } from './demand.ts';
import { energyReadingsFile, USAGE } from './energy.ts';
import { timeBatches, timeTests, type TimedBatch } from './floor.ts';
import {
	bagsCell,
	INVOICE_HEADINGS,
	invoiceRows,
	laterTerms,
	RATE_HEADINGS,
	rateRows
} from './later.ts';
import { drumLogText, sampleLogText } from './logs.ts';
import { productionLogFiles } from './productionLogs.ts';
import { panelFiles } from './panel.ts';
import { repeatsOf } from './repeats.ts';
import type { CodedLot, LotStory, SampleStory, TestStory } from './story.ts';
import { termsRow, TERMS_HEADINGS } from './terms.ts';
import { kg, num, table, type Cell } from './text.ts';
import type { DrumStep } from './drum.ts';

/** The whole roastery as files. Paths are relative to `demo-data`. */

export interface Roastery {
	readonly course: Course;
	readonly batches: readonly TimedBatch[];
	/** Lots in the order they were entered, with the codes people use. */
	readonly lots: readonly CodedLot[];
}

export function inventRoastery(): Roastery {
	const course = runCourse(demandTable());
	timeTests(course.lots);
	const batches = timeBatches(course.batches);
	const lots = [...course.lots]
		.sort((a, b) => compare(a.createdAt, b.createdAt) || compare(a.key, b.key))
		.map((lot, i) => ({ code: `HR-${101 + i}`, lot }));
	return { course, batches, lots };
}

function compare(a: string, b: string): number {
	return a < b ? -1 : a > b ? 1 : 0;
}

/** Every file of the demo data: path and text. */
export function filesOf(roastery: Roastery): Map<string, string> {
	const codes = new Map(roastery.lots.map(({ code, lot }) => [lot.key, code]));
	const codeOf = (lot: LotStory): string => codes.get(lot.key) ?? '';
	const files = new Map<string, string>([
		['anchor.txt', `${ANCHOR}\n`],
		['site.csv', siteFile()],
		['roasters.csv', roastersFile()],
		['shifts.csv', shiftsFile()],
		['suppliers.csv', table(['supplier', 'lead_days'], SUPPLIER_LEADS)],
		['cost_rates.csv', costRatesFile()],
		['products.csv', productsFile()],
		['demand.csv', demandFile()],
		['blends.csv', blendsFile(roastery.course, codeOf)],
		['production.csv', productionFile(roastery.batches, codeOf)],
		['lots.csv', lotsFile(roastery.lots, codeOf)]
	]);
	const { lots } = roastery;
	const agreed = ({ code, lot }: CodedLot) => termsRow(code, lot);
	const invoices = invoiceRows(lots, agreed);
	files.set(
		'price_terms.csv',
		table(
			[...TERMS_HEADINGS, 'shipped_kg', 'franchise_pct'],
			lots.map((coded) => laterTerms(coded.lot, agreed(coded)))
		)
	);
	files.set('invoices.csv', table(INVOICE_HEADINGS, invoices));
	files.set('rates.csv', table(RATE_HEADINGS, rateRows(lots, agreed, invoices)));
	files.set('movements.csv', movementsFile(lots));
	files.set('measurements.csv', measurementsFile(lots));
	files.set('samples.csv', samplesFile(lots));
	files.set('tests.csv', testsFile(lots));
	files.set('cuppings.csv', cuppingsFile(lots));
	files.set('verdicts.csv', verdictsFile(lots));
	for (const [path, text] of panelFiles(lots)) files.set(path, text);
	files.set('recoveries.csv', recoveriesFile(lots));
	files.set('energy_readings.csv', energyReadingsFile(lots));
	files.set('releases.csv', releasesFile(lots));
	for (const turn of ['reopened', 'rejected'] as const)
		files.set(turn === 'reopened' ? 'reopenings.csv' : 'rejections.csv', turnsFile(lots, turn));
	files.set('truth/samples.csv', truthFile(lots));
	logFiles(lots, files);
	for (const [path, text] of productionLogFiles(roastery.batches, lots)) files.set(path, text);
	return files;
}

function siteFile(): string {
	return table(
		[
			'name',
			'time_zone',
			'currency',
			'altitude_m',
			'release_lead_days',
			'cupping_lag_hours',
			'test_cycle_days',
			'supplier_lead_days'
		],
		[
			[
				SITE.name,
				SITE.timeZone,
				SITE.currency,
				SITE.altitudeM,
				SITE.releaseLeadDays,
				SITE.cuppingLagHours,
				SITE.testCycleDays,
				SITE.supplierLeadDays
			]
		]
	);
}

function roastersFile(): string {
	return table(
		[
			'code',
			'name',
			'min_charge_kg',
			'max_charge_kg',
			'warm_up_min',
			'cycle_min',
			'roast_min',
			'cleaning_min',
			'gas_min_pct',
			'gas_max_pct',
			'gas_step_pct',
			'note'
		],
		Object.values(ROASTERS).map((spec) => [
			spec.code,
			spec.name,
			spec.minChargeKg,
			spec.maxChargeKg,
			spec.warmUpMin,
			spec.cycleMin,
			spec.roastMin,
			spec.cleaningMin,
			spec.gasPct.min,
			spec.gasPct.max,
			spec.gasPct.step,
			spec.note
		])
	);
}

function shiftsFile(): string {
	const text = (minute: number): string =>
		`${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;
	return table(
		['roaster', 'weekday', 'start', 'end'],
		Object.values(ROASTERS).flatMap((spec) =>
			[1, 2, 3, 4, 5].map((weekday) => [
				spec.code,
				weekday,
				text(spec.shiftStartMin),
				text(spec.shiftEndMin)
			])
		)
	);
}

function costRatesFile(): string {
	const rows = (from: string, energy: number, labour: number, machine: number): Cell[][] => [
		[
			...[from, 'D15', SITE.currency, USAGE.D15.gasPerBatch, USAGE.D15.gasPerKg, energy, labour],
			...[machine, 22, 10, 55, USAGE.D15.powerPerBatch, USAGE.D15.powerPerKg, energy * 3.4],
			...[32_000, 4_000, 12, 1_600]
		].map(short),
		[
			...[from, 'D60', SITE.currency, USAGE.D60.gasPerBatch, USAGE.D60.gasPerKg, energy, labour],
			...[machine * 2.4, 22, 12, 55, USAGE.D60.powerPerBatch, USAGE.D60.powerPerKg, energy * 3.4],
			...[110_000, 12_000, 15, 1_700]
		].map(short)
	];
	return table(
		[
			'from',
			'roaster',
			'currency',
			'energy_kwh_per_batch',
			'energy_kwh_per_kg_green',
			'energy_price_per_kwh',
			'labour_per_hour',
			'machine_per_hour',
			'quality_per_hour',
			'labour_min_per_batch',
			'quality_min_per_test',
			'power_kwh_per_batch',
			'power_kwh_per_kg_green',
			'power_price_per_kwh',
			'machine_cost',
			'machine_residual',
			'machine_life_years',
			'machine_hours_per_year'
		],
		[
			...rows(addDays(mondayOfWeek(0), -180), 0.071, 16.8, 7.5),
			...rows(addDays(mondayOfWeek(40), 2), 0.078, 17.6, 8)
		]
	);
}

/** Without the digits of a product of floats. */
function short(cell: Cell): Cell {
	return typeof cell === 'number' ? Number(cell.toFixed(4)) : cell;
}

function productsFile(): string {
	// The house asks more of what is sold as one lot, which it roasts light.
	return table(
		[
			...['code', 'name', 'shade', 'price_per_kg'],
			...['rule_form', 'smallest_score', 'largest_spread', 'no_fault_cups']
		],
		PRODUCTS.map(({ code, name, shade, pricePerKg }) => [
			...[code, name, shade, num(pricePerKg, 2)],
			...['2004', shade === 'light' ? 84 : 82, 2.5, true]
		])
	);
}

function demandFile(): string {
	const rows: Cell[][] = [];
	for (const [product, weeks] of demandTable())
		weeks.forEach((roastedKg, week) => rows.push([product, isoWeekAt(week), num(roastedKg, 1)]));
	return table(['product', 'week', 'roasted_kg'], rows);
}

/** A new block of a product's rows in every week in which one of its lots was replaced. */
function blendsFile(course: Course, codeOf: (lot: LotStory) => string): string {
	const rows: Cell[][] = [];
	for (const { code } of PRODUCTS) {
		const turns = course.turns.filter(({ lot }) =>
			lot.chain.places.some((place) => place.product === code)
		);
		const weeks = [...new Set(turns.map(({ week }) => week))].sort((a, b) => a - b);
		for (const week of weeks) {
			const filling = new Map<string, LotStory>();
			for (const turn of [...turns].sort((a, b) => a.week - b.week))
				if (turn.week <= week) filling.set(turn.lot.chain.id, turn.lot);
			for (const lot of filling.values()) {
				const place = lot.chain.places.find(({ product }) => product === code);
				const share = place?.sharePct ?? 0;
				const other = course.turns.findLast(
					(turn) => turn.lot.chain.id === place?.standIn && turn.week <= week
				);
				// A tenth either way in blends of several lots; a single lot stays what it is.
				const range = filling.size > 1 ? [share - 10, share + 10] : ['', ''];
				rows.push([
					code,
					mondayOfWeek(week),
					codeOf(lot),
					share,
					...range,
					other ? codeOf(other.lot) : ''
				]);
			}
		}
	}
	return table(
		['product', 'from', 'lot', 'share_pct', 'least_pct', 'most_pct', 'substitutes'],
		rows
	);
}

function productionFile(batches: readonly TimedBatch[], codeOf: (lot: LotStory) => string): string {
	return table(
		['lot', 'product', 'roaster', 'roasted_at', 'charge_kg', 'out_kg', 'by'],
		batches.map((batch) => [
			codeOf(batch.lot),
			batch.product,
			batch.roaster,
			batch.at,
			kg(batch.chargeG),
			kg(batch.outG),
			batch.by
		])
	);
}

function lotsFile(lots: readonly CodedLot[], codeOf: (lot: LotStory) => string): string {
	return table(
		[
			'code',
			'name',
			'kind',
			'country',
			'producer',
			'supplier',
			'variety',
			'crop_year',
			'bag_kg',
			'bags_expected',
			'expected_on',
			'organic',
			'decaf',
			'replaces',
			'for_product',
			'needed_on',
			'note',
			'created_at'
		],
		lots.map(({ code, lot }) => [
			code,
			lot.name,
			lot.kind,
			lot.country,
			lot.producer,
			lot.chain.supplier,
			lot.variety,
			cropYear(lot),
			lot.chain.bagKg,
			lot.bags,
			lot.expectedOn,
			lot.chain.organic,
			lot.kind === 'decaf',
			lot.replaces === null ? '' : codeOf(lot.replaces),
			lot.chain.places[0]?.product ?? '',
			lot.neededOn,
			lot.note,
			lot.createdAt
		])
	);
}

function cropYear(lot: LotStory): string {
	const year = Number(lot.createdAt.slice(0, 4)) - (lot.kind === 'old crop' ? 2 : 0);
	return `${year - 1}/${String(year).slice(2)}`;
}

/** Rows of all lots in the order they happened. */
function inOrder<T>(
	lots: readonly CodedLot[],
	of: (lot: LotStory) => readonly T[],
	atOf: (item: T) => Stamp
): { code: string; item: T }[] {
	return lots
		.flatMap(({ code, lot }) => of(lot).map((item) => ({ code, item })))
		.sort((a, b) => compare(atOf(a.item), atOf(b.item)) || compare(a.code, b.code));
}

function movementsFile(lots: readonly CodedLot[]): string {
	return table(
		['lot', 'at', 'kind', 'mass_kg', 'reason', 'by', 'bags'],
		inOrder(
			lots,
			(lot) => lot.movements.map((move) => ({ ...move, lot })),
			(move) => move.at
		).map(({ code, item }) => [
			...[code, item.at, item.kind, kg(item.massG), item.reason, item.by],
			bagsCell(item.lot, item.kind, item.massG)
		])
	);
}

function measurementsFile(lots: readonly CodedLot[]): string {
	return table(
		[
			'lot',
			'stage',
			'at',
			'moisture_pct',
			'water_activity',
			'density_g_l',
			'screen_16_up_pct',
			'defects_per_300g',
			'by'
		],
		inOrder(
			lots,
			(lot) => lot.measurements,
			(item) => item.at
		).map(({ code, item }) => [
			code,
			item.stage,
			item.at,
			num(item.moisturePct, 1),
			num(item.waterActivity, 3),
			num(item.densityGL, 0),
			num(item.screen16UpPct, 0),
			item.defectsPer300G,
			item.by
		])
	);
}

function sampleLogPath(code: string, stage: string, repeat?: number): string {
	return `logs/samples/${code}-${stage}${repeat ? `-repeat-${repeat}` : ''}.csv`;
}

/** A sample, with its number where it is a repeat. */
interface SampleRow {
	readonly code: string;
	readonly item: SampleStory;
	readonly number?: number;
}

interface TruthRow {
	readonly code: string;
	readonly item: { readonly kind: LotStory['kind']; readonly sample: SampleStory };
	readonly number?: number;
}

function samplesFile(lots: readonly CodedLot[]): string {
	return table(
		[
			'lot',
			'stage',
			'roasted_at',
			'by',
			'charge_g',
			'out_g',
			'air_flow_g_s',
			'sensor_lag_s',
			'ear_crack',
			'log_file',
			'note'
		],
		[
			...inOrder(
				lots,
				(lot) => lot.samples,
				(item) => item.at
			),
			...repeatsOf(lots)
		].map(({ code, item, number }: SampleRow) => [
			code,
			item.stage,
			item.at,
			item.by,
			num(item.roast.chargeG, 1),
			num(item.roast.outG, 1),
			num(item.roast.airFlowGS, 2),
			item.sensorLagKnown ? num(item.roast.lagS, 1) : '',
			item.earCrackS === null ? '' : minutesSeconds(item.earCrackS),
			sampleLogPath(code, item.stage, number),
			item.note
		])
	);
}

function testLogPath(code: string, test: TestStory): string {
	return `logs/tests/${code}-test-${test.number}.csv`;
}

/** Steps as a person writes them: `0:00 60; 4:30 75`. */
function stepsText(steps: readonly DrumStep[]): string {
	return steps.map(({ atS, pct }) => `${minutesSeconds(atS)} ${num(pct, 0)}`).join('; ');
}

function testsFile(lots: readonly CodedLot[]): string {
	return table(
		[
			'lot',
			'number',
			'planned_at',
			'planned_by',
			'purpose',
			'change',
			'roaster',
			'charge_kg',
			'start_c',
			'soak_s',
			'gas_steps',
			'air_steps',
			'drum_rpm',
			'roasted_at',
			'roasted_by',
			'out_kg',
			'log_file',
			'note'
		],
		inOrder(
			lots,
			(lot) => lot.tests,
			(item) => item.plannedAt
		).map(({ code, item }) => [
			code,
			item.number,
			item.plannedAt,
			PEOPLE.roastingLead,
			item.purpose,
			item.change,
			item.roaster,
			kg(item.settings.chargeG),
			num(item.settings.startC, 0),
			num(item.settings.soakS, 0),
			stepsText(item.settings.gasSteps),
			stepsText(item.settings.airSteps),
			item.settings.drumRpm,
			item.roast?.at ?? '',
			item.roast?.by ?? '',
			item.roast ? kg(item.roast.outG) : '',
			item.roast ? testLogPath(code, item) : '',
			item.roast?.note ?? ''
		])
	);
}

function cuppingsFile(lots: readonly CodedLot[]): string {
	const rows = inOrder(
		lots,
		(lot) => lot.tests.flatMap((test) => (test.cupping ? [{ test, cupping: test.cupping }] : [])),
		({ cupping }) => cupping.at
	);
	return table(
		['lot', 'test', 'cupped_at', 'by', 'form', 'scores', 'taints', 'faults', 'descriptors', 'note'],
		rows.map(({ code, item: { test, cupping } }) => [
			code,
			test.number,
			cupping.at,
			PEOPLE.quality,
			cupping.form,
			cupping.scores.map((score) => num(score, 2)).join(';'),
			cupping.taints,
			cupping.faults,
			cupping.descriptors,
			''
		])
	);
}

function verdictsFile(lots: readonly CodedLot[]): string {
	const rows = inOrder(
		lots,
		(lot) => lot.tests.flatMap(({ number, verdict }) => (verdict ? [{ number, ...verdict }] : [])),
		({ at }) => at
	);
	return table(
		['lot', 'test', 'at', 'by', 'verdict', 'reason', 'against_reason'],
		rows.map(({ code, item }) => [
			code,
			item.number,
			item.at,
			PEOPLE.quality,
			item.verdict,
			item.reason,
			''
		])
	);
}

function recoveriesFile(lots: readonly CodedLot[]): string {
	const rows = inOrder(
		lots,
		(lot) =>
			lot.tests.flatMap(({ number, recoveries }) =>
				recoveries.map((part) => ({ number, ...part }))
			),
		({ at }) => at
	);
	return table(
		['lot', 'test', 'at', 'kind', 'mass_kg', 'value', 'product', 'by'],
		rows.map(({ code, item }) => [
			code,
			item.number,
			item.at,
			item.kind,
			kg(item.massG),
			num(item.value, 2),
			item.product,
			PEOPLE.operations
		])
	);
}

function releasesFile(lots: readonly CodedLot[]): string {
	return table(
		['lot', 'test', 'at', 'roasting_by', 'quality_by', 'descriptors', 'price_per_kg'],
		inOrder(
			lots,
			(lot) => lot.releases,
			({ at }) => at
		).map(({ code, item }) => [
			code,
			item.test,
			item.at,
			PEOPLE.roastingLead,
			PEOPLE.quality,
			item.descriptors,
			num(item.pricePerKg, 2)
		])
	);
}

function turnsFile(lots: readonly CodedLot[], turn: 'reopened' | 'rejected'): string {
	return table(
		['lot', 'at', 'by', 'reason'],
		inOrder(
			lots,
			(lot) => lot.turns.filter((item) => item.turn === turn),
			({ at }) => at
		).map(({ code, item }) => [code, item.at, item.by, item.reason])
	);
}

function truthFile(lots: readonly CodedLot[]): string {
	const once: TruthRow[] = inOrder(
		lots,
		(lot) => lot.samples.map((sample) => ({ kind: lot.kind, sample })),
		({ sample }) => sample.at
	);
	const rows = once.concat(
		repeatsOf(lots).map(({ code, lot, number, item }) => ({
			code,
			number,
			item: { kind: lot.kind, sample: item }
		}))
	);
	return table(
		[
			'log_file',
			'kind',
			'half_cracked_s',
			'onset_s',
			'end_s',
			'burst_over_base',
			'distinct',
			'lag_s',
			'noise',
			'offset',
			'fan'
		],
		rows.map(({ code, number, item: { kind, sample } }) => {
			const { truth, lagS, noiseRhPct, offsetRhPct } = sample.roast;
			return [
				sampleLogPath(code, sample.stage, number),
				kind,
				num(truth.halfCrackedS, 1),
				num(truth.onsetS, 1),
				num(truth.endS, 1),
				num(truth.burstOverBase, 3),
				truth.distinct,
				num(lagS, 1),
				num(noiseRhPct, 2),
				num(offsetRhPct, 2),
				sample.fan
			];
		})
	);
}

function logFiles(lots: readonly CodedLot[], files: Map<string, string>): void {
	for (const { code, lot } of lots) {
		for (const sample of lot.samples)
			files.set(
				sampleLogPath(code, sample.stage),
				sampleLogText(sample.roast.log, sample.dialect, sample.at)
			);
		for (const test of lot.tests)
			if (test.roast)
				files.set(testLogPath(code, test), drumLogText(test.roast.log, test.roaster === 'D60'));
	}
	for (const { code, number, item } of repeatsOf(lots))
		files.set(
			sampleLogPath(code, item.stage, number),
			sampleLogText(item.roast.log, item.dialect, item.at)
		);
}
