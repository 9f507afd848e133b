import type { Day, IsoWeek } from '../quantity/time.ts';
import { daysBetween } from '../quantity/week.ts';
import type { LotNeed, WeeklyGreen } from './explosion.ts';
import type { BlendPart, ProductBlend } from './products.ts';
import type { WeightLoss } from './weightLoss.ts';

/**
 * Which lots products are made of as stock runs out.
 *
 * 1. Every week each part of a blend is taken from the lot that it names, while its stock lasts: what is
 *    on hand and expected, less what was taken for earlier weeks.
 * 2. What the named lot can't give comes from the lots that replace it, one after another; then from
 *    those that may stand in, in the order of the blend, each followed by the lots that replace it. In a week
 *    named lots serve first those who name them: nothing stands in before every part had its own.
 * 3. No lot gives anything before the day on which it is released or expected to be. A week is spread
 *    evenly over the days that are left of it, so a lot that is ready on a Thursday gives at most four
 *    sevenths of it, together with those that are ready later.
 * 4. What is short then may shift to other parts of the blend, in its order, as far as the ranges allow.
 * 5. What was roasted in the week already counts for the part that it fits and takes nothing more from stock.
 * 6. The rest is a shortage. Taken, roasted already and short sum to what was asked, to the gram.
 */

export interface LotSupply {
	readonly lotId: number;
	readonly code: string;
	/** First day on which production may use it; null when none is in sight. */
	readonly readyDay: Day | null;
	/** On hand and expected, g green. */
	readonly stockG: number;
	/** Lots that replace it, in the order in which they are used. */
	readonly successorIds: readonly number[];
	readonly loss: WeightLoss;
}

/** One week's demand as its blends name the lots. */
export interface WeekAsked {
	readonly week: IsoWeek;
	/** Whether the demand is recorded, not carried on. */
	readonly isKnown: boolean;
	/** Days that are left of it, Monday to Sunday, at least one. */
	readonly days: readonly Day[];
	readonly blends: readonly ProductBlend[];
	/** As `explodeDemand` gives them. */
	readonly needs: readonly LotNeed[];
	/** Batches of the week so far. */
	readonly made: readonly MadeBatch[];
}

export interface MadeBatch {
	readonly lotId: number;
	readonly productId: number;
	readonly chargeG: number;
	readonly outG: number;
}

export type TakeRole = 'made' | 'named' | 'successor' | 'substitute' | 'shifted';

/** What one part of a product gets from one lot in a week. */
export interface Take extends LotNeed {
	/** The lot that the blend names for this part. */
	readonly partLotId: number;
	readonly role: TakeRole;
	readonly isKnown: boolean;
	/** One sentence for a person. */
	readonly because: string;
}

/** What no lot can give of one part in a week. */
export interface Shortage extends LotNeed {
	readonly isKnown: boolean;
	readonly because: string;
}

export interface Succession {
	/** By week, then in the order of rules 5, 1, 2 and 4. */
	readonly takes: readonly Take[];
	/** `lotId` is the lot that the blend names. */
	readonly shortages: readonly Shortage[];
	/** Green asked of each lot by week, whether it could give it or not: what its cover rests on. */
	readonly asked: ReadonlyMap<number, readonly WeeklyGreen[]>;
	/** Lots that take over from others at some time: they are not asked for the same every week. */
	readonly tookOver: ReadonlySet<number>;
}

/** A part of one product in one week while lots are found for it. */
interface Part {
	readonly need: LotNeed;
	readonly share: BlendPart;
	/** Roasted grams of the whole product. */
	readonly totalG: number;
	restG: number;
	/** Gained from, or lost to, other parts. */
	shiftedG: number;
	/** By day left: most that may still come from lots ready on that day or later. */
	readonly openG: number[];
}

interface Book {
	readonly lots: ReadonlyMap<number, LotSupply>;
	readonly leftG: Map<number, number>;
	readonly asked: Map<number, Map<IsoWeek, number>>;
	readonly tookOver: Set<number>;
	readonly takes: Take[];
	readonly shortages: Shortage[];
}

/**
 * The succession over consecutive weeks.
 * @throws RangeError when a week names a lot that is not among `lots`
 */
export function planSuccession(
	lots: readonly LotSupply[],
	weeks: readonly WeekAsked[]
): Succession {
	const book: Book = {
		lots: new Map(lots.map((lot) => [lot.lotId, lot])),
		leftG: new Map(lots.map(({ lotId, stockG }) => [lotId, stockG])),
		asked: new Map(),
		tookOver: new Set(),
		takes: [],
		shortages: []
	};
	for (const week of weeks) planWeekOf(book, week);
	const asked = [...book.asked].map(([lotId, byWeek]): [number, readonly WeeklyGreen[]] => [
		lotId,
		[...byWeek].map(([week, greenG]) => ({ week, greenG }))
	]);
	const { takes, shortages, tookOver } = book;
	return { takes, shortages, asked: new Map(asked), tookOver };
}

/**
 * The needs of lots that a succession comes to, one for each lot, product and week: what is short stands
 * at the lot that the blend names, so that a product's roasted grams sum to what was asked.
 */
export function needsOf({ takes, shortages }: Succession): readonly LotNeed[] {
	const found = new Map<string, LotNeed>();
	for (const { lotId, productId, week, roastedG, greenG, loss, isKnown } of [
		...takes,
		...shortages
	]) {
		if (!isKnown) continue;
		const key = `${week} ${productId} ${lotId}`;
		const before = found.get(key);
		found.set(key, {
			...{ lotId, productId, week, loss },
			roastedG: (before?.roastedG ?? 0) + roastedG,
			greenG: (before?.greenG ?? 0) + greenG
		});
	}
	return [...found.values()].sort((a, b) => (a.week < b.week ? -1 : a.week > b.week ? 1 : 0));
}

function planWeekOf(book: Book, week: WeekAsked): void {
	const parts = partsOf(week);
	for (const { need } of parts) ask(book, need.lotId, week, need.greenG, 7);
	takeMade(book, week, parts);
	for (const part of parts) openDays(part, week.days.length);
	for (const part of parts) offer(book, week, part, part.need.lotId, 'named');
	for (const part of parts)
		for (const lotId of successorsOf(book, [part.need.lotId]).slice(1))
			offer(book, week, part, lotId, 'successor');
	for (const part of parts)
		for (const lotId of standInsOf(book, part)) offer(book, week, part, lotId, 'substitute');
	for (const own of Map.groupBy(parts, ({ need }) => need.productId).values())
		for (const part of own) shift(book, week, part, own);
	for (const part of parts) if (part.restG > 0) sayShort(book, week, part);
}

function partsOf({ blends, needs }: WeekAsked): Part[] {
	const blendOf = new Map(blends.map((blend) => [blend.productId, blend]));
	const totals = new Map<number, number>();
	for (const { productId, roastedG } of needs)
		totals.set(productId, (totals.get(productId) ?? 0) + roastedG);
	return needs
		.filter(({ roastedG }) => roastedG > 0)
		.map((need) => ({
			need,
			share: blendOf.get(need.productId)!.components.find(({ lotId }) => lotId === need.lotId)!,
			totalG: totals.get(need.productId)!,
			restG: need.roastedG,
			...{ shiftedG: 0, openG: [] }
		}));
}

/** Rule 5: a batch goes to the part that names its lot, else to the first that may use it. */
function takeMade(book: Book, week: WeekAsked, parts: readonly Part[]): void {
	for (const { lotId, productId, chargeG, outG } of week.made) {
		const own = parts.filter(({ need, restG }) => need.productId === productId && restG > 0);
		const part =
			own.find(({ need }) => need.lotId === lotId) ??
			own.find(({ need }) => successorsOf(book, [need.lotId]).includes(lotId)) ??
			own.find((one) => standInsOf(book, one).includes(lotId));
		if (!part) continue;
		const roastedG = Math.min(part.restG, outG);
		part.restG -= roastedG;
		const { loss } = lotOf(book, lotId);
		const taken = { ...part.need, lotId, roastedG, greenG: chargeG, loss };
		keep(book, week, part, taken, 'made');
	}
}

/** Rule 3: of what is left the days from each on have their even share. */
function openDays(part: Part, days: number): void {
	for (let from = 0; from < days; from += 1)
		part.openG.push(Math.floor((part.restG * (days - from)) / days));
}

/** Takes from a lot what it can give of a part, at most `mostG`; returns the roasted grams. */
function offer(
	book: Book,
	week: WeekAsked,
	part: Part,
	lotId: number,
	role: TakeRole,
	mostG = Infinity
): number {
	const lot = lotOf(book, lotId);
	const day = firstDay(lot, week.days);
	if (day === null || part.restG === 0) return 0;
	const wantedG = Math.min(mostG, part.restG, ...part.openG.slice(0, day + 1));
	if (wantedG <= 0) return 0;
	if (role !== 'named') {
		ask(book, lotId, week, greenFor(wantedG, lot.loss), week.days.length);
		book.tookOver.add(lotId);
	}
	const leftG = book.leftG.get(lotId)!;
	const roastedG = Math.min(wantedG, roastedFrom(leftG, lot.loss));
	if (roastedG === 0) return 0;
	const greenG = greenFor(roastedG, lot.loss);
	book.leftG.set(lotId, leftG - greenG);
	part.restG -= roastedG;
	for (let from = 0; from <= day; from += 1) part.openG[from]! -= roastedG;
	keep(book, week, part, { ...part.need, lotId, roastedG, greenG, loss: lot.loss }, role);
	return roastedG;
}

/** Rule 4: what a part lacks goes to the others of its blend. */
function shift(book: Book, week: WeekAsked, part: Part, blend: readonly Part[]): void {
	for (const other of blend) {
		if (other === part || part.restG === 0) continue;
		const mayG = Math.min(mayLoseG(part), mayGainG(other));
		const lots = [...successorsOf(book, [other.need.lotId]), ...standInsOf(book, other)];
		let movedG = 0;
		for (const lotId of lots)
			movedG += offer(book, week, part, lotId, 'shifted', Math.max(0, mayG - movedG));
		part.shiftedG -= movedG;
		other.shiftedG += movedG;
	}
}

function mayLoseG({ need, share, totalG, shiftedG }: Part): number {
	const least = share.leastPermille ?? share.sharePermille;
	return Math.max(0, need.roastedG + shiftedG - Math.ceil((totalG * least) / 1000));
}

function mayGainG({ need, share, totalG, shiftedG }: Part): number {
	const most = share.mostPermille ?? share.sharePermille;
	return Math.max(0, Math.floor((totalG * most) / 1000) - need.roastedG - shiftedG);
}

function keep(book: Book, week: WeekAsked, part: Part, taken: LotNeed, role: TakeRole): void {
	const partLotId = part.need.lotId;
	const because = whyTaken(book, part, taken.lotId, role);
	book.takes.push({ ...taken, partLotId, role, isKnown: week.isKnown, because });
}

function whyTaken(book: Book, { need, share }: Part, lotId: number, role: TakeRole): string {
	const [code, named] = [lotOf(book, lotId).code, lotOf(book, need.lotId).code];
	if (role === 'made') return `Roasted from ${code} this week already.`;
	if (role === 'named') return `The blend names ${code}.`;
	if (role === 'successor') return `${named} can't give more; ${code} takes over from it.`;
	if (role === 'substitute') return `${named} can't give more; ${code} may stand in for it.`;
	const least = (share.leastPermille ?? share.sharePermille) / 10;
	return `${named} can't give more and may go down to ${least} %; more of ${code} makes up for it.`;
}

/** Rule 6, with what every lot that was asked could not give. */
function sayShort(book: Book, week: WeekAsked, part: Part): void {
	const ids = [...successorsOf(book, [part.need.lotId]), ...standInsOf(book, part)];
	const states = ids.map((lotId) => {
		const lot = lotOf(book, lotId);
		if (lot.readyDay === null) return `${lot.code} has no day of release in sight`;
		if (lot.readyDay > week.days.at(-1)!) return `${lot.code} is expected ready ${lot.readyDay}`;
		if (roastedFrom(book.leftG.get(lotId)!, lot.loss) === 0) return `${lot.code} has nothing left`;
		return `${lot.code} is expected ready ${lot.readyDay}, too late for the whole week`;
	});
	const alone = ids.length === 1 ? '; no lot takes over from it or may stand in' : '';
	book.shortages.push({
		...part.need,
		roastedG: part.restG,
		greenG: greenFor(part.restG, part.need.loss),
		isKnown: week.isKnown,
		because: `${states.join(', ')}${alone}.`
	});
}

/** Lots and all that take over from them, each once, those of the first before those of the next. */
function successorsOf(book: Book, lotIds: readonly number[]): number[] {
	const found = [...lotIds];
	for (const lotId of found)
		for (const next of lotOf(book, lotId).successorIds) if (!found.includes(next)) found.push(next);
	return found;
}

/** Lots that may stand in for a part, each followed by those that take over from it. */
function standInsOf(book: Book, { need, share }: Part): number[] {
	const own = new Set(successorsOf(book, [need.lotId]));
	const all = (share.substituteLotIds ?? []).flatMap((lotId) => successorsOf(book, [lotId]));
	return [...new Set(all)].filter((lotId) => !own.has(lotId));
}

function lotOf({ lots }: Book, lotId: number): LotSupply {
	const lot = lots.get(lotId);
	if (!lot) throw new RangeError(`lot ${lotId} is asked for and not among the lots`);
	return lot;
}

/** Which of the days left is the first that a lot can serve; null for none. */
function firstDay({ readyDay }: LotSupply, days: readonly Day[]): number | null {
	if (readyDay === null || readyDay > days.at(-1)!) return null;
	return readyDay <= days[0]! ? 0 : daysBetween(days[0]!, readyDay);
}

/** Adds to what is asked of a lot; `days` of the week carry it, and a cover takes it as of seven. */
function ask(book: Book, lotId: number, { week }: WeekAsked, greenG: number, days: number): void {
	const byWeek = book.asked.get(lotId) ?? new Map<IsoWeek, number>();
	byWeek.set(week, (byWeek.get(week) ?? 0) + Math.round((greenG * 7) / days));
	book.asked.set(lotId, byWeek);
}

function greenFor(roastedG: number, { ratio }: WeightLoss): number {
	return Math.round(roastedG / (1 - ratio));
}

/** Most roasted grams whose green does not exceed a stock. */
function roastedFrom(greenG: number, loss: WeightLoss): number {
	const most = Math.floor(greenG * (1 - loss.ratio));
	return greenFor(most, loss) <= greenG ? most : most - 1;
}
