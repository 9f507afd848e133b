import { actorMay, type ActName } from '#lib/domain/access/rights.ts';
import type { Actor } from '#lib/domain/access/role.ts';
import {
	compareFigures,
	movesBetween,
	type Compared,
	type Moved,
	type PartOf,
	type PlanFigure
} from '#lib/domain/plan/compare.ts';
import type { Slot as PlannedSlot } from '#lib/domain/plan/plan.ts';
import { dayHoursOf, notYetIn, type WhatIf } from '#lib/domain/plan/whatIf.ts';
import { formatKg } from '#lib/domain/quantity/mass.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { addDays, dayOf, daysOfWeek, startOfWeek } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../../db/client.ts';
import { loadWeekPlan } from '../../store/production.ts';
import { loadTests } from '../../store/tests.ts';
import { inputTime, momentOf } from '../moment.ts';
import { lotHref } from '../places.ts';
import type { Roastery } from '../roastery.ts';
import { testHref } from '../tests.ts';
import { namesOf, slotWords, type Names } from '../week.ts';
import { dayWords, momentShortWords, weekdayWords } from '../words.ts';
import { changeText, changeWords, loadKnown, PROFILING, readChanges, type Known } from './ask.ts';
import { MONEY_FIGURES, type MoneyFigure } from './money.ts';
import { SEARCH_STEPS, whatIfFromMs, workOutWhatIf, type WorkedOut } from './work.ts';

/** A figure beside itself, with the records that it is the sum of. */
export interface FigureView extends Omit<Compared<PlanFigure | MoneyFigure>, 'parts'> {
	readonly parts: readonly {
		readonly label: string;
		readonly href: string | null;
		readonly before: number;
		readonly after: number;
	}[];
}

/** A batch that is elsewhere, new or gone. */
export interface MovedView {
	readonly what: string;
	readonly href: string;
	/** `Mon 23 Nov 10:00 on Drum A, 12 kg`; null for one that is new. */
	readonly before: string | null;
	readonly after: string | null;
	/** Null where it is in time on both sides. */
	readonly late: string | null;
}

/** A lot that is still to be released. */
export interface ChanceView {
	readonly code: string;
	readonly name: string;
	readonly href: string;
	readonly releaseBy: { readonly before: Day | null; readonly after: Day | null };
	/** Null without a date to meet. */
	readonly before: number | null;
	readonly after: number | null;
	readonly middleDay: { readonly before: Day | null; readonly after: Day | null };
	readonly because: readonly string[];
}

/** A lot that runs out on another day. */
export interface StockView {
	readonly code: string;
	readonly href: string;
	readonly before: Day | null;
	readonly after: Day | null;
}

export interface WhatIfResult {
	readonly fromMs: InstantMs;
	/** `Wed 25 Nov 10:20`. */
	readonly from: string;
	readonly version: number;
	readonly digest: string;
	/** Whether the week's slots stay as they are. */
	readonly isSame: boolean;
	readonly hasControl: boolean;
	readonly currency: string;
	readonly figures: readonly FigureView[];
	readonly money: readonly FigureView[];
	readonly moved: readonly MovedView[];
	readonly stay: number;
	readonly freed: readonly string[];
	readonly unplaced: readonly { readonly what: string; readonly reasons: string }[];
	readonly clashes: readonly string[];
	readonly chances: readonly ChanceView[];
	readonly stock: readonly StockView[];
	/** What keeping it records beside the plan. */
	readonly records: readonly string[];
	readonly uncosted: readonly Problem[];
	/** Why it can't be kept; null where it can. */
	readonly cannotKeep: string | null;
}

export interface WhatIfPage {
	readonly week: IsoWeek;
	readonly isOver: boolean;
	readonly hasPlan: boolean;
	readonly changes: readonly { readonly text: string; readonly words: string }[];
	readonly searches: boolean;
	readonly searchSteps: number;
	/** What of the address can't be understood. */
	readonly problems: readonly Problem[];
	readonly choices: {
		readonly products: readonly Choice[];
		readonly roasters: readonly Choice[];
		readonly who: readonly Choice[];
		readonly lots: readonly Choice[];
		readonly days: readonly Choice[];
		/** Values of date and time inputs: the next full hour within the week, and the end of that day. */
		readonly stopFrom: string;
		readonly stopTo: string;
	};
	/** Null without a change, without a plan, and where it can't be planned. */
	readonly result: WhatIfResult | null;
}

const MS_PER_HOUR = 3_600_000;

interface Choice {
	readonly value: string;
	readonly label: string;
}

/** What of a what-if stands in an address. */
export interface WhatIfAddress {
	readonly texts: readonly string[];
	readonly searches: boolean;
}

/** A what-if of a week with everything that its page shows. */
export async function loadWhatIf(
	db: Reader,
	now: InstantMs,
	actor: Actor,
	week: IsoWeek,
	{ texts, searches }: WhatIfAddress
): Promise<WhatIfPage> {
	const known = await loadKnown(db, now, week);
	const { changes, problems } = readChanges(texts, known);
	const isOver = daysOfWeek(week)[6]! < known.today;
	const page = {
		...{ week, isOver, searches, searchSteps: SEARCH_STEPS, choices: choicesOf(known, now) },
		changes: changes.map((change) => ({
			text: changeText(change, known),
			words: sentence(changeWords(change, known))
		}))
	};
	if (isOver || changes.length === 0) {
		const hasPlan = isOver || (await loadWeekPlan(db, week)) !== null;
		return { ...page, hasPlan, problems, result: null };
	}
	const asked = { week, changes, searches, fromMs: whatIfFromMs(now) };
	const outcome = await workOutWhatIf(db, now, asked);
	if (!outcome.ok)
		return { ...page, hasPlan: true, problems: [...problems, ...outcome.problems], result: null };
	const worked = outcome.value;
	const names = async ({ before }: WorkedOut) => namesOf(before.roastery, await loadTests(db));
	const result = worked && resultOf(worked, known, await names(worked), actor);
	return { ...page, hasPlan: worked !== null, problems, result };
}

function choicesOf(
	{ products, roasters, expected, week, zone }: Known,
	now: InstantMs
): WhatIfPage['choices'] {
	const startMs = Math.max(startOfWeek(week, zone), Math.ceil(now / MS_PER_HOUR) * MS_PER_HOUR);
	const stopDay = dayOf(startMs, zone);
	const machines = roasters.map(({ code, name }) => ({ value: code, label: `${code} ${name}` }));
	return {
		products: products.map(({ code, name }) => ({ value: code, label: name })),
		roasters: machines,
		who: [...machines, { value: PROFILING, label: 'Somebody for profiling' }],
		lots: expected.map(({ code, name, expectedOn }) => ({
			value: code,
			label: `${code} ${name}, expected ${dayWords(expectedOn!)}`
		})),
		days: daysOfWeek(week).map((day) => ({ value: day, label: weekdayWords(day) })),
		stopFrom: inputTime(startMs, zone),
		stopTo: `${addDays(stopDay, 1)}T00:00`
	};
}

function resultOf(worked: WorkedOut, known: Known, names: Names, actor: Actor): WhatIfResult {
	const { asked, before, after, control, plan, freed, clashes } = worked;
	const { site } = before.roastery;
	const zone = site.timeZone;
	const wordsOf = figureWords(known, names, asked.week);
	const moves = plan === null ? [] : movesOf(worked);
	const at = (slot: PlannedSlot) => placeWords(slot, known, zone);
	return {
		...{ fromMs: asked.fromMs, version: worked.version, digest: worked.digest },
		from: momentShortWords(momentOf(before.made.problem.fromMs, zone)),
		...{ isSame: plan === null, hasControl: control !== null, currency: site.currency },
		figures: compareFigures(before.figures, after.figures, control?.figures ?? null).map(wordsOf),
		money: compareFigures(before.money, after.money, control?.money ?? null).map(wordsOf),
		moved: moves.map((moved) => movedView(moved, names, zone, at)),
		stay: after.slots.length - moves.filter((one) => one.after !== null).length,
		freed: freed.map(
			(row) => `${slotWords(row, names)}, ${momentShortWords(momentOf(row.startAt, zone))}`
		),
		unplaced: [...(plan?.unplaced ?? []), ...after.made.unservable].map((one) => ({
			what: `${slotWords(one, names)}, ${formatKg(one.greenG)}`,
			reasons: one.reason.join(' ')
		})),
		clashes: clashes.map(({ index, text }) => `${slotWords(before.slots[index]!, names)} ${text}.`),
		chances: chancesOf(before.roastery, after.roastery),
		stock: stockOf(before.roastery, after.roastery),
		records: recordsOf(worked, known),
		uncosted: worked.uncosted,
		cannotKeep: reasonNotToKeep(worked, actor)
	};
}

/** Batches that are elsewhere, of those that are still to start or do not stay. */
function movesOf({ before, after, freed }: WorkedOut): readonly Moved[] {
	const { fromMs } = before.made.problem;
	const isFreed = (slot: PlannedSlot) =>
		freed.some((row) => row.startAt === slot.startMs && row.roasterId === slot.roasterId);
	return movesBetween(
		before.slots.filter((slot) => slot.startMs >= fromMs || isFreed(slot)),
		after.slots.filter(({ startMs }) => startMs >= fromMs)
	);
}

function figureWords(known: Known, names: Names, week: IsoWeek) {
	const roaster = (id: number) => known.roasters.find((one) => one.id === id);
	const record = (of: PartOf, costs: boolean): { label: string; href: string | null } => {
		switch (of.kind) {
			case 'roaster':
				return {
					label: roaster(of.roasterId)?.name ?? 'a roaster',
					href: costs ? '/setup/rates' : `/week/${week}`
				};
			case 'test': {
				const { code } = names.lot(of.lotId);
				const number = names.test(of.testBatchId)?.batch.number;
				return {
					label: `${code} test ${number ?? ''}`.trim(),
					href: number === undefined ? lotHref(code) : testHref(code, number)
				};
			}
			case 'need': {
				const { code } = names.lot(of.lotId);
				const product = names.product(of.productId);
				return {
					label: product ? `${code} for ${product.name}` : code,
					href: costs && product ? `/setup/products/${product.code}` : lotHref(code)
				};
			}
			case 'weight':
				return { label: of.name, href: '/setup/plan#weights' };
		}
	};
	const isMoney = (name: string) => (MONEY_FIGURES as readonly string[]).includes(name);
	return (figure: Compared<PlanFigure | MoneyFigure>): FigureView => ({
		...figure,
		parts: figure.parts.map(({ of, before, after }) => ({
			...record(of, isMoney(figure.name)),
			...{ before, after }
		}))
	});
}

function placeWords(slot: PlannedSlot, known: Known, zone: string): string {
	const roaster = known.roasters.find(({ id }) => id === slot.roasterId)?.name ?? 'a roaster';
	const when = momentShortWords(momentOf(slot.startMs, zone));
	return `${when} on ${roaster}, ${formatKg(Math.round(slot.chargeG / 100) * 100)}`;
}

function movedView(
	{ before, after }: Moved,
	names: Names,
	zone: string,
	at: (slot: PlannedSlot) => string
): MovedView {
	const slot = (before ?? after)!;
	const isLate = (one: PlannedSlot | null) => one !== null && one.endMs > one.dueMs;
	const due = `due ${momentShortWords(momentOf((after ?? before)!.dueMs, zone))}`;
	const late = isLate(after)
		? `${isLate(before) ? 'late as before' : 'becomes late'}, ${due}`
		: isLate(before) && after
			? `in time again, ${due}`
			: null;
	return {
		...{ what: slotWords(slot, names), href: lotHref(names.lot(slot.lotId).code), late },
		...{ before: before && at(before), after: after && at(after) }
	};
}

/** Every open lot, what it loses most first. */
function chancesOf(before: Roastery, after: Roastery): ChanceView[] {
	const later = new Map(after.lots.map((facts) => [facts.lot.id, facts]));
	return before.lots
		.flatMap((was): ChanceView[] => {
			const is = later.get(was.lot.id);
			if (!was.ready || !is?.ready) return [];
			return [
				{
					...{ code: was.lot.code, name: was.lot.name, href: lotHref(was.lot.code) },
					releaseBy: {
						before: was.releaseBy?.releaseBy?.day ?? null,
						after: is.releaseBy?.releaseBy?.day ?? null
					},
					...{ before: was.ready.chanceInTime, after: is.ready.chanceInTime },
					middleDay: { before: was.ready.middleDay, after: is.ready.middleDay },
					because: is.ready.because
				}
			];
		})
		.sort((a, b) => gain(a) - gain(b) || (a.code < b.code ? -1 : 1));
}

function gain({ before, after }: Pick<ChanceView, 'before' | 'after'>): number {
	return (after ?? 0) - (before ?? 0);
}

function stockOf(before: Roastery, after: Roastery): StockView[] {
	const later = new Map(after.lots.map(({ lot, cover }) => [lot.id, cover.runOutDay]));
	return before.lots.flatMap(({ lot, cover }) => {
		const is = later.get(lot.id) ?? null;
		if (cover.runOutDay === is) return [];
		return [{ code: lot.code, href: lotHref(lot.code), before: cover.runOutDay, after: is }];
	});
}

/** Orders that a what-if changes: as they are and as they would be. */
export function changedOrders({ before, after }: WorkedOut) {
	const key = (row: { productId: number; week: string }) => `${row.week} ${row.productId}`;
	const then = new Map(before.roastery.demand.map((row) => [key(row), row.roastedG]));
	return after.roastery.demand.flatMap((row) => {
		const seenG = then.get(key(row)) ?? 0;
		if (seenG === row.roastedG) return [];
		const product = after.roastery.products.find(({ id }) => id === row.productId)!;
		return [{ week: row.week, product, roastedG: row.roastedG, seenG }];
	});
}

function recordsOf(worked: WorkedOut, known: Known): string[] {
	const orders = changedOrders(worked).map(
		({ week, product, roastedG, seenG }) =>
			`Orders of ${product.name}, ${week}: ${formatKg(seenG)} becomes ${formatKg(roastedG)} roasted.`
	);
	const { changes } = worked.asked;
	const others = changes
		.filter(({ kind }) => kind !== 'orders')
		.map((change) => `${sentence(changeWords(change, known))}, ${whereOf(change, worked)}.`);
	return [...orders, ...others];
}

function sentence(words: string): string {
	return words.charAt(0).toUpperCase() + words.slice(1);
}

function whereOf(change: WhatIf, { newHours }: WorkedOut): string {
	const hours = dayHoursOf(change);
	if (hours.length === 0) return 'as the day on which the lot is expected';
	return notYetIn(hours, newHours).length < newHours.length
		? 'among the hours of single days in Setup'
		: 'which is among the hours of single days in Setup already';
}

const RECORDED_BY: Readonly<Record<WhatIf['kind'], ActName>> = {
	...{ orders: 'save demand', arrival: 'change expected day' },
	...{ stoppage: 'save hours of days', shift: 'save hours of days' }
};

function reasonNotToKeep(worked: WorkedOut, actor: Actor): string | null {
	const acts = worked.asked.changes.map(({ kind }) => RECORDED_BY[kind]);
	const refused = [...new Set<ActName>(['keep a what-if', ...acts])].filter(
		(act) => !actorMay(actor, act)
	);
	if (refused.length > 0)
		return `Your role is ${actor.role}; keeping this takes the right to ${refused.join(' and to ')}. You can send the address of this page to somebody who may.`;
	if (worked.broken.length > 0)
		return `A fixed slot stands where the rules no longer let it: ${worked.broken[0]!.message} Let it move on the week page first.`;
	return null;
}
