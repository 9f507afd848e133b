import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { formatKg } from '#lib/domain/quantity/mass.ts';
import { hashOf } from '../auth/secret.ts';
import type { Reader } from '../db/client.ts';
import {
	countPlanActs,
	findFeed,
	loadFeeds,
	loadSessionsOf,
	type CuppingSessionRow
} from '../store/calendars.ts';
import { loadSlotsAhead, type Slot } from '../store/production.ts';
import { loadRoasters } from '../store/site.ts';
import { loadTests } from '../store/tests.ts';
import { momentOf } from './moment.ts';
import { loadRoastery } from './roastery.ts';
import { namesOf, slotWords, type Names } from './week.ts';
import { momentWords } from './words.ts';

/** One entry of a calendar. */
export interface CalendarEntry {
	/** The same for the same thing, whenever it takes place. */
	readonly uid: string;
	/** Goes up when it changes. */
	readonly sequence: number;
	readonly startMs: InstantMs;
	readonly endMs: InstantMs;
	readonly summary: string;
	readonly description: string;
	readonly location: string | null;
}

/** A calendar's name and its entries. */
export interface Calendar {
	readonly name: string;
	readonly entries: readonly CalendarEntry[];
}

/** So far back a calendar goes. */
const BACK_MS = 28 * 86_400_000;
/** A cupping is known by its beginning; it is shown as long as this. */
const CUPPING_MS = 3_600_000;

/** The calendar at a secret address; null where there is none, or none any more. */
export async function loadCalendar(
	db: Reader,
	now: InstantMs,
	secret: string
): Promise<Calendar | null> {
	const found = await findFeed(db, hashOf(secret));
	if (!found) return null;
	const { feed, person } = found;
	const [roastery, roasters, tests, slots, sequence, sessions] = await Promise.all([
		loadRoastery(db, now),
		loadRoasters(db),
		loadTests(db),
		loadSlotsAhead(db, now - BACK_MS),
		countPlanActs(db),
		feed.roasterId === null ? loadSessionsOf(db, person, now - BACK_MS) : []
	]);
	const names = namesOf(roastery, tests);
	const isOwn = (slot: Slot) =>
		feed.roasterId === null
			? names.test(slot.testBatchId)?.batch.plannedBy === person
			: slot.roasterId === feed.roasterId;
	const uids = uidsOf(slots);
	const nameOf = (id: number) => roasters.find((one) => one.id === id)?.name ?? 'roaster';
	const entries = slots.filter(isOwn).map((slot) => ({
		...slotEntry(slot, names),
		...{ uid: uids.get(slot.id)!, sequence, location: nameOf(slot.roasterId) }
	}));
	const site = roastery.site.name;
	const title = feed.roasterId === null ? person : nameOf(feed.roasterId);
	return { name: `${site}: ${title}`, entries: [...entries, ...sessions.map(sessionEntry)] };
}

/**
 * What names a slot in a calendar, by its number: a test by its batch; a production batch by what it is for
 * and its place among the batches for that. Both stay when the week is planned anew.
 */
function uidsOf(slots: readonly Slot[]): ReadonlyMap<number, string> {
	const seen = new Map<string, number>();
	return new Map(
		slots.map((slot) => {
			if (slot.testBatchId !== null) return [slot.id, `test-${slot.testBatchId}@trierbook`];
			const key = `batch-${slot.week}-${slot.lotId}-${slot.productId}`;
			const place = (seen.get(key) ?? 0) + 1;
			seen.set(key, place);
			return [slot.id, `${key}-${place}@trierbook`];
		})
	);
}

function slotEntry(slot: Slot, names: Names) {
	const lot = names.lot(slot.lotId);
	const purpose = names.test(slot.testBatchId)?.batch.purpose;
	return {
		...{ startMs: slot.startAt, endMs: slot.endAt, summary: slotWords(slot, names) },
		description: [
			`${lot.code} ${lot.name}, charge ${formatKg(slot.chargeG)}`,
			...(purpose ? [purpose] : []),
			...(slot.endAt > slot.dueAt ? ['Ends after it is due'] : []),
			...(slot.note ? [slot.note] : [])
		].join('\n')
	};
}

function sessionEntry({ id, name, openedAt, version }: CuppingSessionRow): CalendarEntry {
	return {
		...{ uid: `cupping-${id}@trierbook`, sequence: version, location: null },
		...{ startMs: openedAt, endMs: openedAt + CUPPING_MS },
		...{ summary: `Cupping: ${name}`, description: `Session ${id}` }
	};
}

/** A person's calendars and what one can be made of. */
export async function loadOwnCalendars(db: Reader, now: InstantMs, userId: number) {
	const [{ site }, roasters, feeds] = await Promise.all([
		loadRoastery(db, now),
		loadRoasters(db),
		loadFeeds(db, userId)
	]);
	return {
		feeds: feeds.map(({ id, createdAt, roaster }) => ({
			id,
			of: roaster ?? 'My tests and cuppings',
			since: momentWords(momentOf(createdAt, site.timeZone))
		})),
		roasters: roasters.map(({ id, name }) => ({ id, name }))
	};
}
