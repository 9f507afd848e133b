import { runOutRange } from '#lib/domain/demand/use.ts';
import type { Stage } from '#lib/domain/lot/lot.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { addDays, addWeeks, daysBetween } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { lotHref } from './places.ts';
import { loadRoastery, type LotFacts, type Roastery } from './roastery.ts';

/** How long each lot lasts, what follows it, and by when the next must be released or ordered. */

export const COVER_SORTS = ['lot', 'on-hand', 'use', 'run-out', 'release-by', 'order-by'] as const;

/** Weeks over which use is averaged. */
const WEEKS_OF_USE = 4;

export interface CoverQuery {
	readonly q: string;
	/** `order`: lots that nothing follows; `follows`: lots with one named. */
	readonly next: string;
	readonly sort: { readonly key: string; readonly descending: boolean } | null;
}

export interface CoverLine {
	readonly code: string;
	readonly name: string;
	readonly href: string;
	readonly stage: Stage;
	readonly onHandG: number;
	/** Still to come, g. */
	readonly expectedG: number;
	/** Mean of what is asked of it in the weeks ahead, g green a week. */
	readonly weeklyG: number;
	readonly runOutDay: Day | null;
	/** Between which it falls eight times in ten; null where it doesn't run out. */
	readonly range: { readonly earliest: Day | null; readonly latest: Day | null } | null;
	readonly isBeyondKnown: boolean;
	readonly next: readonly {
		readonly code: string;
		readonly href: string;
		readonly stage: Stage;
		readonly releaseBy: Day | null;
	}[];
	readonly orderBy: {
		readonly day: Day;
		/** When it is used as fast as one time in ten. */
		readonly earliest: Day | null;
		readonly daysLeft: number;
		readonly because: string;
	} | null;
}

export interface CoverPage {
	readonly lines: readonly CoverLine[];
	readonly all: number;
	readonly meanWeeks: number;
	readonly knownTo: string | null;
	readonly supplierLeadDays: number;
	readonly releaseLeadDays: number;
	/** Lots that should have been ordered by now. */
	readonly overdue: number;
}

/** Every lot that has coffee or gets it, those to be ordered first first. */
export async function loadCoverPage(
	db: Reader,
	now: InstantMs,
	query: CoverQuery
): Promise<CoverPage> {
	const roastery = await loadRoastery(db, now);
	const held = roastery.lots.filter(
		({ standing, events, stock }) =>
			standing.stage !== 'rejected' && (events.onHandG > 0 || stock.arrivals.length > 0)
	);
	const lines = held
		.filter(({ lot }) => matches([lot.code, lot.name, lot.kind, lot.supplier], query.q))
		.filter(({ successorIds: { length } }) =>
			query.next === 'order' ? length === 0 : query.next !== 'follows' || length > 0
		)
		.map((facts) => lineOf(facts, roastery));
	return {
		lines: sorted(lines, query.sort ?? { key: 'order-by', descending: false }),
		all: held.length,
		meanWeeks: WEEKS_OF_USE,
		knownTo: roastery.demand.at(-1)?.week ?? null,
		supplierLeadDays: roastery.site.supplierLeadDays,
		releaseLeadDays: roastery.site.releaseLeadDays,
		overdue: held.filter(({ orderBy }) => orderBy !== null && orderBy.day < roastery.today).length
	};
}

/** Whether every word of a search is in one of the texts. */
export function matches(texts: readonly string[], q: string): boolean {
	const text = texts.join(' ').toLowerCase();
	return q
		.toLowerCase()
		.split(/\s+/)
		.every((word) => text.includes(word));
}

function lineOf(facts: LotFacts, { lots, today, week, useOf }: Roastery): CoverLine {
	const { lot, events, stock, cover, orderBy, successorIds } = facts;
	const end = addWeeks(week, WEEKS_OF_USE);
	const askedG = stock.needs
		.filter((need) => need.week < end)
		.reduce((sum, { greenG }) => sum + greenG, 0);
	const range = cover.runOutDay ? runOutRange(stock, useOf(lot.id).spread) : null;
	return {
		...{ code: lot.code, name: lot.name, href: lotHref(lot.code), stage: facts.standing.stage },
		onHandG: events.onHandG,
		expectedG: stock.arrivals.reduce((sum, { greenG }) => sum + greenG, 0),
		weeklyG: Math.round(askedG / WEEKS_OF_USE),
		...{ runOutDay: cover.runOutDay, range, isBeyondKnown: cover.isBeyondKnown },
		next: successorIds.map((id) => {
			const next = lots.find((one) => one.lot.id === id)!;
			return {
				...{ code: next.lot.code, href: lotHref(next.lot.code), stage: next.standing.stage },
				releaseBy: next.releaseBy?.releaseBy?.day ?? null
			};
		}),
		orderBy: orderBy && {
			...{ day: orderBy.day, because: orderBy.because },
			earliest: range?.earliest ? addDays(range.earliest, -orderBy.leadDays) : null,
			daysLeft: daysBetween(today, orderBy.day)
		}
	};
}

/** Lines without the day sorted by come last, whichever way. */
function sorted(lines: CoverLine[], { key, descending }: NonNullable<CoverQuery['sort']>) {
	const by = (line: CoverLine): string | number | null => {
		if (key === 'on-hand') return line.onHandG;
		if (key === 'use') return line.weeklyG;
		if (key === 'run-out') return line.runOutDay;
		if (key === 'release-by') return line.next[0]?.releaseBy ?? null;
		return key === 'order-by' ? (line.orderBy?.day ?? null) : line.code;
	};
	const sign = descending ? -1 : 1;
	return lines.toSorted((a, b) => {
		const [x, y] = [by(a), by(b)];
		if (x === null || y === null) return x === y ? 0 : x === null ? 1 : -1;
		return x < y ? -sign : x > y ? sign : 0;
	});
}
