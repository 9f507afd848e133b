/** One production batch: its log, held to the recipe that it was roasted by. */
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { HeldBatch } from '#lib/domain/trial/againstRecipe.ts';
import type { Reader } from '../db/client.ts';
import { findBatch, loadBatches } from '../store/batches.ts';
import { loadDrumSettings, loadProductionColours } from '../store/drum.ts';
import { requireSite } from '../store/site.ts';
import { loadRecipes } from '../store/tests.ts';
import { colourText, loadDrumView, type DrumView } from './drum.ts';
import { inputTime, momentOf, type Moment } from './moment.ts';
import { batchHref, lotHref } from './places.ts';
import { batchesOf, holdBatch, outsideOf } from './recipe.ts';

export interface BatchPage {
	readonly id: number;
	readonly lotCode: string;
	readonly lotName: string;
	readonly lotHref: string;
	readonly roasted: Moment;
	readonly by: string;
	readonly product: string;
	readonly roasterName: string;
	readonly chargeG: number;
	readonly outG: number;
	/** 0 to 1. */
	readonly weightLoss: number;
	readonly drum: DrumView | null;
	/** The newest version of the recipe that it was roasted by; null where there is none. */
	readonly recipe: {
		readonly version: number;
		readonly href: string;
		readonly hasStandard: boolean;
		readonly bandC: number | null;
	} | null;
	readonly held: HeldBatch;
	readonly outside: readonly string[];
	readonly colour: (Moment & { readonly text: string; readonly by: string }) | null;
	/** Name of the scale that the roastery used last, for the form. */
	readonly usualScale: string;
	readonly before: string | null;
	readonly after: string | null;
	readonly nowInput: string;
}

/** One production batch of a lot; null when there is none of that id. */
export async function loadBatchPage(
	db: Reader,
	now: InstantMs,
	code: string,
	id: number
): Promise<BatchPage | null> {
	const record = await findBatch(db, id);
	if (!record || record.lotCode !== code) return null;
	const { batch } = record;
	const [site, recipes, batches, settings, colours] = await Promise.all([
		requireSite(db),
		loadRecipes(db, batch.lotId),
		loadBatches(db, { lotId: batch.lotId }),
		loadDrumSettings(db),
		loadProductionColours(db)
	]);
	const zone = site.timeZone;
	const recipe =
		recipes.find((one) => batchesOf(one, recipes, batches).some((b) => b.batch.id === id)) ?? null;
	const colour = colours.get(id);
	const { held } = await holdBatch(db, record, recipe, settings, colour);
	const at = batches.findIndex((one) => one.batch.id === id);
	const hrefAt = (place: number) => {
		const other = batches[place];
		return other ? batchHref(code, other.batch.id) : null;
	};
	return {
		id,
		lotCode: code,
		lotName: record.lotName,
		lotHref: lotHref(code),
		roasted: momentOf(batch.roastedAt, zone),
		by: batch.by,
		product: `${record.productCode} ${record.productName}`,
		roasterName: record.roasterName,
		chargeG: batch.chargeG,
		outG: batch.outG,
		weightLoss: (batch.chargeG - batch.outG) / batch.chargeG,
		drum: await loadDrumView(db, batch, zone),
		recipe: recipe && {
			version: recipe.version,
			href: `${lotHref(code)}/recipe?version=${recipe.version}`,
			hasStandard: recipe.standard !== null,
			bandC: recipe.standard?.bandC ?? null
		},
		held,
		outside: recipe?.standard ? outsideOf(held) : [],
		colour: colour
			? {
					...momentOf(colour.at, zone),
					text: colourText(colour),
					by: colour.by
				}
			: null,
		usualScale: [...colours.values()].at(-1)?.scale ?? '',
		before: at > 0 ? hrefAt(at - 1) : null,
		after: hrefAt(at + 1),
		nowInput: inputTime(now, zone)
	};
}
