/** A lot's recipe: its versions, what batches are held to, how production keeps to it and what uses it. */
import { alignAt } from '#lib/domain/drum/compare.ts';
import type { DrumReading } from '#lib/domain/drum/reading.ts';
import type { Stage } from '#lib/domain/lot/lot.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { againstRecipe, type HeldBatch } from '#lib/domain/trial/againstRecipe.ts';
import { driftOf, type Drift } from '#lib/domain/trial/drift.ts';
import {
	RECIPE_MARKS,
	recipeChanges,
	standardTexts,
	type RecipeChange,
	type RecipeStandard,
	type RecipeTarget
} from '#lib/domain/trial/recipe.ts';
import { settingTexts } from '#lib/domain/trial/settings.ts';
import type { Reader } from '../db/client.ts';
import { loadBatches, loadSlotsOfLot, type BatchRecord } from '../store/batches.ts';
import { loadDrumSettings, loadProductionColours, type Colour } from '../store/drum.ts';
import { loadRoasters } from '../store/site.ts';
import { loadRecipes, loadTests, type Recipe } from '../store/tests.ts';
import { batchCurves, type BatchCurves, type BatchLine } from './batchCurves.ts';
import { readBatch, type SettingsOfRoasters } from './drum.ts';
import { momentOf, type Moment } from './moment.ts';
import { batchHref, lotHref } from './places.ts';
import { blendIn, loadRoastery, type Roastery } from './roastery.ts';
import { testHref } from './tests.ts';

/** So many of the newest logged batches are drawn over the target. */
const DRAWN = 4;
/** So many of the newest batches are listed and followed; drift goes further back than the eye. */
const FOLLOWED = 80;

export interface VersionView {
	readonly version: number;
	readonly href: string;
	readonly test: { readonly number: number; readonly href: string };
	readonly at: Moment;
	readonly by: string;
	readonly reason: string;
	/** Against the version before; null for the first. */
	readonly changes: readonly RecipeChange[] | null;
}

export interface RecipeBatchRow {
	readonly id: number;
	readonly href: string;
	readonly roasted: Moment;
	readonly product: string;
	readonly roasterCode: string;
	readonly chargeG: number;
	readonly hasLog: boolean;
	readonly held: HeldBatch;
	/** What lies outside, in words; empty where nothing does. */
	readonly outside: readonly string[];
}

export interface DriftRow {
	readonly key: string;
	readonly label: string;
	readonly unit: 's' | 'C' | '1' | '';
	readonly count: number;
	readonly baseline: Drift['baseline'];
	readonly outOfLine: readonly { readonly label: string; readonly href: string }[];
	readonly drift: {
		readonly since: { readonly label: string; readonly href: string };
		readonly noticedAt: { readonly label: string; readonly href: string };
		readonly by: number;
	} | null;
}

export interface RecipePage {
	readonly lotCode: string;
	readonly lotName: string;
	readonly lotHref: string;
	readonly stage: Stage;
	/** Newest first; empty while no test is approved. */
	readonly versions: readonly VersionView[];
	readonly shown: {
		readonly version: number;
		readonly isNewest: boolean;
		readonly test: { readonly number: number; readonly href: string };
		readonly roasterName: string;
		readonly settings: readonly { readonly label: string; readonly text: string }[];
		readonly heldTo: readonly { readonly label: string; readonly text: string }[];
		readonly marks: readonly {
			readonly name: (typeof RECIPE_MARKS)[number];
			readonly timeS: number | null;
			readonly temperatureC: number | null;
		}[];
		readonly standard: Omit<RecipeStandard, 'target'> | null;
		readonly hasTarget: boolean;
	} | null;
	readonly curves: BatchCurves | null;
	readonly batches: readonly RecipeBatchRow[];
	/** Batches of this recipe in all, and those that another roaster roasted. */
	readonly batchCount: number;
	readonly elsewhere: number;
	readonly drifts: readonly DriftRow[];
	readonly usedBy: {
		readonly batches: number;
		readonly chargeG: number;
		readonly products: readonly {
			readonly code: string;
			readonly name: string;
			readonly sharePermille: number;
		}[];
		readonly slots: readonly {
			readonly key: number;
			readonly at: Moment;
			readonly week: string;
			readonly kind: string;
			readonly chargeG: number;
		}[];
	};
	readonly canReopen: boolean;
}

/** A lot's recipe by its version, the newest without one; null when there is no such lot or version. */
export async function loadRecipePage(
	db: Reader,
	now: InstantMs,
	code: string,
	version: number | null
): Promise<RecipePage | null> {
	const roastery = await loadRoastery(db, now);
	const facts = roastery.lots.find(({ lot }) => lot.code === code);
	if (!facts) return null;
	const lotId = facts.lot.id;
	const zone = roastery.site.timeZone;
	const [recipes, tests, roasters, batches] = await Promise.all([
		loadRecipes(db, lotId),
		loadTests(db, { lotId }),
		loadRoasters(db),
		loadBatches(db, { lotId })
	]);
	const shown = version === null ? recipes[0] : recipes.find((r) => r.version === version);
	if (version !== null && !shown) return null;
	const names = new Map(roasters.map(({ id, name }) => [id, name]));
	const numbers = new Map(tests.map(({ batch }) => [batch.id, batch.number]));
	const about = { lotCode: code, lotName: facts.lot.name, lotHref: lotHref(code) };
	const own = shown ? batchesOf(shown, recipes, batches) : [];
	const followed = shown ? await follow(db, own.slice(-FOLLOWED), shown, zone) : NOTHING;
	return {
		...about,
		stage: facts.standing.stage,
		versions: versionViews(recipes, names, numbers, code, zone),
		shown: shown ? shownOf(shown, recipes[0]!, names, numbers, code) : null,
		...followed,
		batchCount: own.length,
		usedBy: await usersOf(db, roastery, lotId, own),
		canReopen: facts.standing.stage === 'released'
	};
}

const NOTHING = { curves: null, batches: [], elsewhere: 0, drifts: [] };

function versionViews(
	recipes: readonly Recipe[],
	names: ReadonlyMap<number, string>,
	numbers: ReadonlyMap<number, number>,
	code: string,
	zone: string
): VersionView[] {
	const parts = (of: Recipe) => ({
		roasterName: names.get(of.roasterId) ?? '',
		settings: of.settings,
		standard: of.standard,
		test: numbers.get(of.testBatchId) ?? 0
	});
	return recipes.map((recipe, i) => {
		const before = recipes[i + 1];
		const number = numbers.get(recipe.testBatchId) ?? 0;
		return {
			version: recipe.version,
			href: `${lotHref(code)}/recipe?version=${recipe.version}`,
			test: { number, href: testHref(code, number) },
			at: momentOf(recipe.approvedAt, zone),
			by: recipe.by,
			reason: recipe.reason,
			changes: before ? recipeChanges(parts(before), parts(recipe)) : null
		};
	});
}

function shownOf(
	recipe: Recipe,
	newest: Recipe,
	names: ReadonlyMap<number, string>,
	numbers: ReadonlyMap<number, number>,
	code: string
): RecipePage['shown'] {
	const { target, ...standard } = recipe.standard ?? { target: null };
	const number = numbers.get(recipe.testBatchId) ?? 0;
	return {
		version: recipe.version,
		isNewest: recipe.version === newest.version,
		test: { number, href: testHref(code, number) },
		roasterName: names.get(recipe.roasterId) ?? '',
		settings: settingTexts({ ...recipe.settings, chargeG: recipe.chargeG }),
		heldTo: Object.entries(standardTexts(recipe.standard)).map(([label, text]) => ({
			label,
			text
		})),
		marks: RECIPE_MARKS.map((name) => ({
			name,
			timeS: target?.marks[name]?.timeS ?? null,
			temperatureC: target?.marks[name]?.temperatureC ?? null
		})),
		standard: recipe.standard ? (standard as Omit<RecipeStandard, 'target'>) : null,
		hasTarget: target !== null
	};
}

/**
 * The batches that a recipe was roasted by: from the first version of its approved test on, until another
 * test's version takes its place. Versions of one test share their batches.
 */
export function batchesOf(
	recipe: Recipe,
	recipes: readonly Recipe[],
	batches: readonly BatchRecord[]
): BatchRecord[] {
	const ofTest = recipes.filter(({ testBatchId }) => testBatchId === recipe.testBatchId);
	const fromMs = Math.min(...ofTest.map(({ approvedAt }) => approvedAt));
	const lastVersion = Math.max(...ofTest.map(({ version }) => version));
	const after = recipes.filter(({ version }) => version > lastVersion);
	const untilMs = Math.min(...after.map(({ approvedAt }) => approvedAt));
	return batches.filter(({ batch }) => batch.roastedAt >= fromMs && batch.roastedAt < untilMs);
}

interface Followed {
	readonly record: BatchRecord;
	readonly reading: DrumReading | null;
	readonly held: HeldBatch;
}

const BARE: RecipeStandard = {
	...{ target: null, bandC: 0, markS: 0, markC: 0, lossLow: 0, lossHigh: 1 },
	...{ colour: null, descriptors: '' }
};

/** Holds one batch to a recipe. */
export async function holdBatch(
	db: Reader,
	record: BatchRecord,
	recipe: Pick<Recipe, 'standard' | 'chargeG'> | null,
	settings: SettingsOfRoasters,
	colour: Colour | undefined
): Promise<{ reading: DrumReading | null; held: HeldBatch }> {
	const { batch } = record;
	const read = await readBatch(db, batch, settings);
	const reading = read?.ok ? read.value : null;
	const weightLoss = (batch.chargeG - batch.outG) / batch.chargeG;
	const chargeRatio = recipe ? batch.chargeG / recipe.chargeG : 1;
	return {
		reading,
		held: againstRecipe(
			{ reading, weightLoss, colour: colour ?? null, chargeRatio },
			recipe?.standard ?? BARE
		)
	};
}

async function follow(
	db: Reader,
	records: readonly BatchRecord[],
	recipe: Recipe,
	zone: string
): Promise<Pick<RecipePage, 'curves' | 'batches' | 'elsewhere' | 'drifts'>> {
	const [settings, colours] = await Promise.all([loadDrumSettings(db), loadProductionColours(db)]);
	const all: Followed[] = [];
	for (const record of records) {
		const colour = colours.get(record.batch.id);
		const found = await holdBatch(db, record, recipe, settings, colour);
		all.push({ record, ...found });
	}
	const here = all.filter(({ record }) => record.batch.roasterId === recipe.roasterId);
	return {
		curves: curvesOf(recipe.standard?.target ?? null, here, zone),
		batches: all.map((one) => batchRow(one, recipe.standard, zone)).reverse(),
		elsewhere: all.length - here.length,
		drifts: driftRows(here, zone)
	};
}

function nameOf({ batch }: BatchRecord, zone: string): string {
	const { day, clock } = momentOf(batch.roastedAt, zone);
	return `${day} ${clock}`;
}

function batchRow(
	{ record, reading, held }: Followed,
	standard: RecipeStandard | null,
	zone: string
): RecipeBatchRow {
	const { batch, lotCode, productCode, roasterCode } = record;
	return {
		id: batch.id,
		href: batchHref(lotCode, batch.id),
		roasted: momentOf(batch.roastedAt, zone),
		product: productCode,
		roasterCode,
		chargeG: batch.chargeG,
		hasLog: reading !== null,
		held,
		outside: standard ? outsideOf(held) : []
	};
}

const MARK_WORDS = {
	turningPoint: 'turning point',
	colourChange: 'colour change',
	firstCrack: 'first crack',
	drop: 'drop'
} as const;

/** What of a batch lies outside its recipe, in words. */
export function outsideOf({ marks, loss, colour }: HeldBatch): string[] {
	return [
		...marks.flatMap(({ name, time, temperature }) => [
			...(time.isInside === false ? [`${MARK_WORDS[name]} time`] : []),
			...(temperature.isInside === false ? [`${MARK_WORDS[name]} temperature`] : [])
		]),
		...(loss.isInside === false ? ['weight loss'] : []),
		...(colour.isInside === false ? ['colour'] : [])
	];
}

function curvesOf(
	target: RecipeTarget | null,
	batches: readonly Followed[],
	zone: string
): BatchCurves | null {
	if (!target) return null;
	const newest = batches
		.flatMap(({ record, reading }) => (reading ? [{ record, reading }] : []))
		.slice(-DRAWN)
		.reverse();
	const aligned = alignAt(
		newest.map(({ reading }) => reading),
		'charge'
	);
	const { timeS, lines } = batchCurves(
		newest.map(({ record, reading }, i) => ({
			label: nameOf(record, zone),
			aligned: aligned[i]!,
			turningPointS: reading.marks.turningPoint?.timeS ?? null
		}))
	);
	const longer = target.beanC.map((_, i) => i * target.stepS);
	const axis = longer.length > timeS.length ? longer : timeS;
	const fit = (values: readonly (number | null)[]) => axis.map((_, i) => values[i] ?? null);
	const wanted: BatchLine = { label: 'recipe', beanC: fit(target.beanC), rorCMin: fit([]) };
	return {
		timeS: axis,
		lines: [
			wanted,
			...lines.map(({ label, beanC, rorCMin }) => ({
				label,
				beanC: fit(beanC),
				rorCMin: fit(rorCMin)
			}))
		]
	};
}

/** Figures that are followed, with the least scatter that is believed of each. */
const FOLLOWED_FIGURES: readonly {
	readonly key: string;
	readonly label: string;
	readonly unit: DriftRow['unit'];
	readonly least: number;
	readonly of: (one: Followed) => number | null;
}[] = [
	{
		...{ key: 'loss', label: 'Weight loss', unit: '1', least: 0.001 },
		of: ({ held }) => held.loss.found
	},
	{
		...{ key: 'curve', label: 'Mean distance from the curve', unit: 'C', least: 0.3 },
		of: ({ held }) => held.curve?.meanOffC ?? null
	},
	{
		...{ key: 'crack', label: 'First crack', unit: 's', least: 3 },
		of: ({ reading }) => reading?.marks.firstCrack?.timeS ?? null
	},
	{
		...{ key: 'total', label: 'Total time', unit: 's', least: 3 },
		of: ({ reading }) => reading?.totalS ?? null
	},
	{
		...{ key: 'drop', label: 'Drop temperature', unit: 'C', least: 0.3 },
		of: ({ reading }) => reading?.marks.drop.temperatureC ?? null
	},
	{
		...{ key: 'colour', label: 'Colour value', unit: '', least: 0.3 },
		of: ({ held }) => held.colour.found
	}
];

function driftRows(batches: readonly Followed[], zone: string): DriftRow[] {
	const link = (place: number) => {
		const { record } = batches[place]!;
		return { label: nameOf(record, zone), href: batchHref(record.lotCode, record.batch.id) };
	};
	return FOLLOWED_FIGURES.map(({ key, label, unit, least, of }) => {
		const { count, baseline, outOfLine, drift } = driftOf(batches.map(of), least);
		return {
			...{ key, label, unit, count, baseline },
			outOfLine: outOfLine.map(link),
			drift: drift && {
				since: link(drift.since),
				noticedAt: link(drift.noticedAt),
				by: drift.by
			}
		};
	}).filter(({ count }) => count > 0);
}

async function usersOf(
	db: Reader,
	{ now, site, week, products, blends }: Roastery,
	lotId: number,
	batches: readonly BatchRecord[]
): Promise<RecipePage['usedBy']> {
	const slots = await loadSlotsOfLot(db, lotId, now);
	return {
		batches: batches.length,
		chargeG: batches.reduce((sum, { batch }) => sum + batch.chargeG, 0),
		products: products.flatMap((product) => {
			const parts = blendIn(product, blends, week)?.components ?? [];
			return parts
				.filter((part) => part.lotId === lotId)
				.map(({ sharePermille }) => ({ code: product.code, name: product.name, sharePermille }));
		}),
		slots: slots.map(({ id, startAt, week, kind, chargeG }) => ({
			...{ key: id, week, kind, chargeG },
			at: momentOf(startAt, site.timeZone)
		}))
	};
}
