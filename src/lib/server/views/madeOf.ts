import type { Shortage, Take } from '#lib/domain/demand/succession.ts';
import type { Day, InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { addDays, addWeeks, daysOfWeek } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { matches } from './coverPage.ts';
import { lotHref } from './places.ts';
import { loadRoastery, type Roastery } from './roastery.ts';

/** Which lots each product will be made of in the weeks ahead, one after another, and what is short. */

const WEEKS_SHOWN = 12;

/** A lot in the succession of a part. */
export interface MadeOfRun {
	readonly code: string;
	readonly name: string;
	readonly href: string;
	/** How it stands to the lot that the blend names. */
	readonly role: 'named' | 'successor' | 'substitute' | 'shifted';
	readonly because: string;
	readonly from: IsoWeek;
	/** The day before it runs out; null when it lasts longer than the weeks shown. */
	readonly until: Day | null;
	/** For the part in the weeks shown. */
	readonly roastedG: number;
	/** When it is ready; null for a released lot. */
	readonly readyDay: Day | null;
}

export interface MadeOfPart {
	/** Product and named lot. */
	readonly key: string;
	readonly product: string;
	readonly productName: string;
	readonly productHref: string;
	/** Of what was asked of the product in the weeks shown. */
	readonly share: number;
	readonly runs: readonly MadeOfRun[];
	readonly short: readonly {
		readonly week: IsoWeek;
		readonly roastedG: number;
		readonly because: string;
	}[];
}

export interface MadeOfPage {
	readonly parts: readonly MadeOfPart[];
	readonly products: number;
	readonly from: IsoWeek;
	readonly to: IsoWeek;
	/** Last week with recorded orders; null without any. */
	readonly knownTo: IsoWeek | null;
	readonly problems: readonly { readonly path: string; readonly message: string }[];
}

/** The succession of lots by product and part. */
export async function loadMadeOf(
	db: Reader,
	now: InstantMs,
	query: { readonly q: string; readonly short: string }
): Promise<MadeOfPage> {
	const roastery = await loadRoastery(db, now);
	const { week, demand, succession, problems } = roastery;
	const end = addWeeks(week, WEEKS_SHOWN);
	const takes = succession.takes.filter((take) => take.week < end);
	const shortages = succession.shortages.filter((one) => one.week < end);
	const parts = partsOf(roastery, takes, shortages)
		.filter((part) => query.short !== 'yes' || part.short.length > 0)
		.filter((part) =>
			matches(
				[part.product, part.productName, ...part.runs.flatMap(({ code, name }) => [code, name])],
				query.q
			)
		);
	return {
		...{ parts, problems, from: week, to: addWeeks(end, -1) },
		products: new Set(takes.map(({ productId }) => productId)).size,
		knownTo: demand.at(-1)?.week ?? null
	};
}

function partsOf(
	roastery: Roastery,
	takes: readonly Take[],
	shortages: readonly Shortage[]
): MadeOfPart[] {
	const shorts = Map.groupBy(shortages, (one) => `${one.productId} ${one.lotId}`);
	const groups = Map.groupBy(takes, (take) => `${take.productId} ${take.partLotId}`);
	const keys = [...new Set([...groups.keys(), ...shorts.keys()])];
	const found = keys.map((key): MadeOfPart => {
		const [productId] = key.split(' ').map(Number);
		const product = roastery.products.find(({ id }) => id === productId)!;
		const [own, short] = [groups.get(key) ?? [], shorts.get(key) ?? []];
		const isOfProduct = (one: { productId: number }) => one.productId === productId;
		const wholeG = sumOf([...takes.filter(isOfProduct), ...shortages.filter(isOfProduct)]);
		return {
			...{ key, product: product.code, productName: product.name },
			productHref: `/demand/${encodeURIComponent(product.code)}`,
			share: wholeG === 0 ? 0 : (sumOf(own) + sumOf(short)) / wholeG,
			runs: runsOf(roastery, own),
			short: short.map(({ week, roastedG, because }) => ({ week, roastedG, because }))
		};
	});
	return found.sort((a, b) =>
		a.product < b.product ? -1 : a.product > b.product ? 1 : b.share - a.share
	);
}

/** One run for each lot, in the order in which they are first used. */
function runsOf({ lots, today, week }: Roastery, takes: readonly Take[]): MadeOfRun[] {
	const last = daysOfWeek(addWeeks(week, WEEKS_SHOWN - 1))[6]!;
	return [...Map.groupBy(takes, (take) => take.lotId)].map(([lotId, own]) => {
		const { lot, cover, ready } = lots.find((one) => one.lot.id === lotId)!;
		const first = own.find(({ role }) => role !== 'made') ?? own[0]!;
		const out = cover.runOutDay;
		return {
			...{ code: lot.code, name: lot.name, href: lotHref(lot.code) },
			role:
				first.role === 'made' ? (lotId === first.partLotId ? 'named' : 'successor') : first.role,
			...{ because: first.because, from: own[0]!.week, roastedG: sumOf(own) },
			until: out !== null && out <= last && out > today ? addDays(out, -1) : null,
			readyDay: ready?.middleDay ?? null
		};
	});
}

function sumOf(rows: readonly { readonly roastedG: number }[]): number {
	return rows.reduce((sum, { roastedG }) => sum + roastedG, 0);
}
