import { netWords, workedLines, type BatchItem } from '#lib/domain/cost/batch.ts';
import { testTotals, type TestTotals } from '#lib/domain/cost/statement.ts';
import type { ReadyOutlook } from '#lib/domain/demand/ready.ts';
import { STAGES, type Stage } from '#lib/domain/lot/lot.ts';
import { formatTrimmed } from '#lib/domain/quantity/decimal.ts';
import { minorDecimals, money, type Money } from '#lib/domain/quantity/money.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { dayOf } from '#lib/domain/quantity/week.ts';
import { stepsText, type TestSettings } from '#lib/domain/trial/settings.ts';
import type { Reader } from '../db/client.ts';
import { loadCuppings } from '../store/cuppings.ts';
import { loadSamples } from '../store/logs.ts';
import {
	findLot,
	loadAudit,
	loadMeasurements,
	loadMovements,
	loadPriceTerms,
	loadReleases,
	loadTurns,
	type AuditRow,
	type Measurement
} from '../store/lots.ts';
import { loadRoasters } from '../store/site.ts';
import { loadRecipes, loadTests, type Recipe } from '../store/tests.ts';
import { loadCosting, type Costing, type ListedTest } from './costing.ts';
import { lotSamples, type LotSamples } from './lot/samples.ts';
import { lotStock, type LotStock } from './lot/stock.ts';
import { lotStory, type Happening, type LotRecords } from './lot/story.ts';
import { lotTerms, type LotTerms } from './lot/terms.ts';
import { lotTests, type LotTestRow } from './lot/tests.ts';
import { lotRow, type LotRow } from './lots.ts';
import { inputTime, momentOf, type Moment } from './moment.ts';
import { lotHref } from './places.ts';
import { detailText } from './acts.ts';
import { isOpen, loadRoastery, type LotFacts, type Roastery } from './roastery.ts';
import { testHref } from './tests.ts';

export interface Link {
	readonly label: string;
	readonly href: string;
}

/** What the forecast of a lot rests on. */
export interface Forecast {
	readonly outlook: ReadyOutlook | null;
	readonly remaining: {
		readonly mean: number;
		readonly low: number;
		readonly high: number;
		readonly basis: string;
	} | null;
	/** The lot that it takes over from, with how its cover was worked out. */
	readonly replaces: (Link & { readonly how: readonly string[] }) | null;
	/** How long this lot itself lasts. */
	readonly cover: readonly string[];
	readonly runOutDay: Day | null;
	/** By when the lot that follows must be ordered; null where one is named or nothing runs out. */
	readonly orderBy: { readonly day: Day; readonly because: string } | null;
	readonly replacedBy: readonly (Link & { readonly stage: Stage })[];
}

export interface LotStep {
	readonly label: string;
	readonly day: Day | null;
}

export interface RecipeView {
	readonly version: number;
	readonly test: Link;
	readonly roasterName: string;
	readonly chargeG: number;
	readonly settings: readonly { readonly term: string; readonly value: string }[];
	/** 0 to 1. */
	readonly weightLoss: number;
	readonly approved: Moment;
	readonly by: string;
}

export interface ReleaseView {
	readonly at: Moment;
	readonly recipeVersion: number | null;
	readonly roastingBy: string;
	readonly qualityBy: string;
	readonly descriptors: string;
	readonly pricePerKg: Money;
}

export interface CostRow {
	readonly test: Link;
	readonly day: Day;
	readonly roasterName: string;
	readonly byItem: Readonly<Record<BatchItem, Money>>;
	readonly cost: Money;
	readonly recovered: Money;
	readonly net: Money;
	readonly howWorked: readonly string[];
}

export interface LotCost {
	readonly rows: readonly CostRow[];
	readonly total: TestTotals;
	readonly uncosted: readonly Problem[];
}

export interface ActLine {
	readonly id: number;
	readonly at: Moment;
	readonly by: string;
	readonly act: string;
	readonly detail: string;
}

/** Acts that can be done to the lot now, with what their forms start from, by field name. */
export type LotForms = Readonly<
	Record<'terms' | 'movement' | 'measurement', Readonly<Record<string, string>>> &
		Record<'release' | 'reopen' | 'reject', Readonly<Record<string, string>> | null>
>;

export interface LotPage {
	readonly row: LotRow;
	readonly currency: string;
	/** Either a day or a text. */
	readonly facts: readonly {
		readonly term: string;
		readonly value: string | null;
		readonly day: Day | null;
	}[];
	readonly note: string;
	readonly steps: readonly LotStep[];
	readonly currentStep: number;
	readonly since: Day;
	readonly forecast: Forecast;
	readonly terms: LotTerms;
	readonly measurements: readonly (Omit<Measurement, 'at'> & { readonly at: Moment })[];
	readonly samples: LotSamples;
	readonly tests: readonly LotTestRow[];
	/** Newest first. */
	readonly recipes: readonly RecipeView[];
	/** Newest first. */
	readonly releases: readonly ReleaseView[];
	readonly turns: readonly {
		readonly turn: string;
		readonly at: Moment;
		readonly by: string;
		readonly reason: string;
	}[];
	readonly stock: LotStock;
	readonly weightLoss: string;
	readonly cost: LotCost;
	readonly story: readonly Happening[];
	readonly acts: readonly ActLine[];
	readonly forms: LotForms;
}

/** Everything about one lot; null when there is no lot of that code. */
export async function loadLotPage(
	db: Reader,
	now: InstantMs,
	code: string,
	options: { readonly wholeLedger: boolean }
): Promise<LotPage | null> {
	const found = await findLot(db, code);
	if (!found) return null;
	const lotId = found.id;
	const roastery = await loadRoastery(db, now);
	const { site } = roastery;
	const facts = roastery.lots.find(({ lot }) => lot.id === lotId)!;
	const [records, sampleCuppings, costing, roasters, acts] = await Promise.all([
		loadRecords(db, facts),
		loadCuppings(db, { lotId, ofSamples: true }),
		loadCosting(db, site, lotId),
		loadRoasters(db),
		loadAudit(db, lotId)
	]);
	const zone = site.timeZone;
	const recipes = records.recipes.map((recipe) => recipeView(recipe, records, roasters, zone));
	return {
		row: lotRow(facts, roastery.today),
		currency: site.currency,
		facts: factsInWords(facts, roastery),
		note: facts.lot.note,
		...stepsOf(facts, records, zone),
		since: dayOf(facts.standing.since, zone),
		forecast: forecastOf(facts, roastery),
		terms: lotTerms(
			records.terms,
			costing.landed.get(lotId),
			facts.events.receivedAt !== null,
			site
		),
		measurements: records.measurements.map((m) => ({ ...m, at: momentOf(m.at, zone) })),
		samples: lotSamples(records.samples, sampleCuppings, zone),
		tests: lotTests(records.tests, costing.tests, zone),
		recipes,
		releases: records.releases.toReversed().map((release) => ({
			at: momentOf(release.at, zone),
			recipeVersion: records.recipes.find((r) => r.id === release.recipeId)?.version ?? null,
			roastingBy: release.roastingBy,
			qualityBy: release.qualityBy,
			descriptors: release.descriptors,
			pricePerKg: money(release.priceMinorPerKg, site.currency)
		})),
		turns: records.turns.map(({ turn, at, by, reason }) => ({
			...{ turn, by, reason },
			at: momentOf(at, zone)
		})),
		stock: lotStock(records.movements, records.tests, zone, options.wholeLedger),
		weightLoss: facts.loss.because,
		cost: costOf(costing),
		story: lotStory(records, zone),
		acts: acts.map((act) => actLine(act, zone)),
		forms: formsOf(facts, records, roastery)
	};
}

async function loadRecords(db: Reader, { lot }: LotFacts): Promise<LotRecords> {
	const [terms, movements, measurements, samples, tests, recipes, releases, turns] =
		await Promise.all([
			loadPriceTerms(db, lot.id),
			loadMovements(db, lot.id),
			loadMeasurements(db, lot.id),
			loadSamples(db, { lotId: lot.id }),
			loadTests(db, { lotId: lot.id }),
			loadRecipes(db, lot.id),
			loadReleases(db, lot.id),
			loadTurns(db, lot.id)
		]);
	return { lot, terms, movements, measurements, samples, tests, recipes, releases, turns };
}

function factsInWords({ lot }: LotFacts, { products }: Roastery): LotPage['facts'] {
	const product = products.find(({ id }) => id === lot.forProductId);
	const certified = [lot.organic ? 'organic' : null, lot.decaf ? 'decaffeinated' : null]
		.filter(Boolean)
		.join(', ');
	const text = (term: string, value: string) => (value ? [{ term, value, day: null }] : []);
	const onDay = (term: string, day: Day | null) => (day ? [{ term, value: null, day }] : []);
	return [
		...text('Producer', lot.producer),
		...text('Supplier', lot.supplier),
		...text('Variety', lot.variety),
		...text('Crop year', lot.cropYear),
		...text('Marked as', certified),
		...text('Bags', `${lot.bagsExpected} of ${formatTrimmed(lot.bagG, 3)} kg`),
		...onDay('Expected on', lot.expectedOn),
		...onDay('Needed on', lot.neededOn),
		...text('Bought for', product ? `${product.code} ${product.name}` : '')
	];
}

/** The stages a lot passes, each with the day on which it was first reached. */
function stepsOf(
	{ standing, events }: LotFacts,
	{ tests, releases }: LotRecords,
	zone: string
): { steps: LotStep[]; currentStep: number } {
	const first = (times: readonly (number | null | undefined)[]) => {
		const known = times.filter((time): time is number => typeof time === 'number');
		return known.length > 0 ? dayOf(Math.min(...known), zone) : null;
	};
	const reached: Partial<Record<Stage, Day | null>> = {
		expected: first([events.createdAt]),
		arrived: first([events.receivedAt]),
		'sample roasted': first([events.arrivalSampleAt]),
		'queued for test': first(tests.map(({ batch }) => batch.plannedAt)),
		'in test': first(tests.map(({ roast }) => roast?.roastedAt)),
		'in review': first(
			tests.map(({ verdict }) => (verdict?.verdict === 'approve' ? verdict.at : null))
		),
		released: first(releases.map(({ at }) => at)),
		'used up': standing.stage === 'used up' ? dayOf(standing.since, zone) : null
	};
	const shown: Stage[] =
		standing.stage === 'rejected'
			? [...STAGES.slice(0, 6).filter((stage) => reached[stage]), 'rejected']
			: STAGES.filter((stage) => stage !== 'rejected');
	const steps = shown.map((stage) => ({
		label: stage,
		day: reached[stage] ?? (stage === standing.stage ? dayOf(standing.since, zone) : null)
	}));
	return { steps, currentStep: shown.indexOf(standing.stage) };
}

function forecastOf(facts: LotFacts, { lots }: Roastery): Forecast {
	const link = ({ lot }: LotFacts) => ({
		label: `${lot.code} ${lot.name}`,
		href: lotHref(lot.code)
	});
	const before = lots.find(({ lot }) => lot.id === facts.lot.replacesLotId);
	const { remaining, cover } = facts;
	return {
		outlook: facts.ready,
		remaining: remaining && {
			...{ mean: remaining.mean, low: remaining.low, high: remaining.high },
			basis: remaining.basis
		},
		replaces: before ? { ...link(before), how: before.cover.how } : null,
		cover: cover.how,
		runOutDay: cover.runOutDay,
		orderBy: facts.orderBy && { day: facts.orderBy.day, because: facts.orderBy.because },
		replacedBy: lots
			.filter(({ lot }) => lot.replacesLotId === facts.lot.id)
			.map((other) => ({ ...link(other), stage: other.standing.stage }))
	};
}

function recipeView(
	recipe: Recipe,
	{ lot, tests }: LotRecords,
	roasters: readonly { id: number; name: string }[],
	zone: string
): RecipeView {
	const number = tests.find(({ batch }) => batch.id === recipe.testBatchId)?.batch.number ?? 0;
	return {
		version: recipe.version,
		test: { label: `test ${number}`, href: testHref(lot.code, number) },
		roasterName: roasters.find(({ id }) => id === recipe.roasterId)?.name ?? '',
		chargeG: recipe.chargeG,
		settings: settingsInWords(recipe.settings),
		weightLoss: recipe.weightLossPpm / 1e6,
		approved: momentOf(recipe.approvedAt, zone),
		by: recipe.by
	};
}

function settingsInWords(settings: TestSettings): { term: string; value: string }[] {
	return [
		{ term: 'Start temperature', value: `${settings.startC} °C` },
		{ term: 'Soak', value: `${settings.soakS} s` },
		{ term: 'Gas', value: stepsText(settings.gasSteps) },
		{ term: 'Air', value: stepsText(settings.airSteps) },
		{ term: 'Drum speed', value: `${settings.drumRpm} rpm` }
	];
}

function costOf({ tests, uncosted, currency }: Costing): LotCost {
	return {
		rows: tests.map((test) => costRow(test)),
		total: testTotals(tests, currency),
		uncosted
	};
}

function costRow(test: ListedTest): CostRow {
	const items = test.batch.lines.map((line) => [line.item, line.money] as const);
	return {
		test: { label: `Test ${test.number}`, href: testHref(test.lotCode, test.number) },
		day: test.day,
		roasterName: test.roasterName,
		byItem: Object.fromEntries(items) as Record<BatchItem, Money>,
		cost: test.cost,
		recovered: test.recovered,
		net: test.net,
		howWorked: [
			...workedLines(test.batch).map((line) => `${line.label}: ${line.howWorked}`),
			`Net: ${netWords(test)}`
		]
	};
}

/** An audit line, put for a person. */
function actLine(act: AuditRow, zone: string): ActLine {
	const detail = detailText(act.detail as Record<string, unknown>, zone);
	return { id: act.id, at: momentOf(act.at, zone), by: act.by, act: act.act, detail };
}

function formsOf(
	facts: LotFacts,
	records: LotRecords,
	{ site, now, today, products }: Roastery
): LotForms {
	const at = inputTime(now, site.timeZone);
	const { lot, standing, events } = facts;
	const approved = records.tests.findLast(({ verdict }) => verdict?.verdict === 'approve');
	const product = products.find(({ id }) => id === lot.forProductId);
	const released = records.releases.at(-1);
	const price = released?.priceMinorPerKg ?? product?.priceMinorPerKg;
	const last = records.terms[0];
	return {
		terms: {
			agreed_on: today,
			basis: last?.basis ?? 'exchange',
			per: last?.per ?? 'lb',
			currency: last?.currency ?? 'USD',
			fx_on: today,
			incoterm: last?.incoterm ?? 'FOB'
		},
		movement: { at, kind: events.receivedAt === null ? 'received' : 'written off' },
		measurement: { at, stage: events.receivedAt === null ? 'pre-shipment' : 'arrival' },
		release:
			standing.nextAct?.kind === 'release'
				? {
						at,
						descriptors: approved?.cuppings.at(-1)?.descriptors ?? '',
						price_per_kg:
							price === undefined
								? ''
								: formatTrimmed(price, minorDecimals(site.currency), 2).replaceAll(',', '')
					}
				: null,
		reopen: standing.stage === 'released' ? { at } : null,
		reject: isOpen(facts) ? { at } : null
	};
}
