import { concernsOf } from '#lib/domain/access/concerns.ts';
import { mayOpen } from '#lib/domain/access/places.ts';
import { isOnAccount } from '#lib/domain/access/rights.ts';
import type { Actor } from '#lib/domain/access/role.ts';
import { clockOf } from '#lib/domain/quantity/week.ts';
import type { Database, Reader } from '../db/client.ts';
import { loadActsAfter, newestActId, type ActSince } from '../store/audit.ts';
import { loadSite } from '../store/site.ts';

/**
 * Tells open pages what changed, as server-sent events. Rules:
 * 1. The audit is where changes are told from, so that nothing is told that was not kept. It is looked at after
 *    each write here, and every few seconds for what another process wrote.
 * 2. Nobody is told of a page that his role may not open; what changed is not told, only where, by whom and when.
 * 3. What comes close together is told as one.
 * 4. A stream ends with its session, with the server, and when its person has too many.
 */
export interface LiveChanges {
	/** A stream of changes after that act, as it goes over the wire; null where the person has too many. */
	open(reader: LiveReader): ReadableStream<Uint8Array> | null;
	/** The streams that are open. */
	count(): number;
	/** Ends every stream; none opens any more. */
	close(): void;
}

export interface LiveReader {
	readonly actor: Actor;
	/** The newest act that the page has seen. */
	readonly after: number;
	/** Asked from time to time and after acts on accounts: false ends the stream. */
	isStillIn(): Promise<boolean>;
}

/** What a page is told. */
export interface LiveNews {
	/** The newest act. */
	readonly id: number;
	/** Who did it; with the others where there were several. */
	readonly by: string;
	/** `10:32` by the site's clock. */
	readonly time: string;
	/** Where something changed (domain/access/concerns.ts). */
	readonly places: readonly string[];
}

export interface LiveOptions {
	/** Milliseconds between two looks for what other processes wrote. */
	readonly everyMs?: number;
	/** Milliseconds in which changes are told as one. */
	readonly mergeMs?: number;
	/** Milliseconds between two signs of life. */
	readonly beatMs?: number;
	readonly streamsPerPerson?: number;
}

interface Stream {
	readonly reader: LiveReader;
	readonly control: ReadableStreamDefaultController<Uint8Array>;
	after: number;
}

/** Acts looked at in one go; of more, the rest is told as everything. */
const MOST = 200;
const DEFAULTS = { everyMs: 3000, mergeMs: 400, beatMs: 20_000, streamsPerPerson: 12 };
const encoder = new TextEncoder();

export function liveChanges(database: Database, options: LiveOptions = {}): LiveChanges {
	const { everyMs, mergeMs, beatMs, streamsPerPerson } = { ...DEFAULTS, ...options };
	const streams = new Set<Stream>();
	let timers: NodeJS.Timeout[] = [];
	let merging: NodeJS.Timeout | null = null;
	let isLooking = false;
	let isClosed = false;
	database.onWrite(lookSoon);

	function lookSoon(): void {
		if (streams.size === 0 || merging) return;
		merging = setTimeout(() => {
			merging = null;
			void look();
		}, mergeMs);
	}

	async function look(): Promise<void> {
		if (isLooking || streams.size === 0) return;
		isLooking = true;
		try {
			await tell();
		} catch (error) {
			// The database may be away for a while; the next look tells.
			console.error('Live changes:', error instanceof Error ? error.message : error);
		} finally {
			isLooking = false;
		}
	}

	async function tell(): Promise<void> {
		const after = Math.min(...[...streams].map((stream) => stream.after));
		const entries = await actsAfter(database.orm, after);
		const newest = entries.at(-1);
		if (!newest) return;
		const site = await loadSite(database.orm);
		if (entries.some(({ act }) => isOnAccount(act))) await dropGone();
		for (const stream of streams) {
			const fresh = entries.filter(({ id }) => id > stream.after);
			stream.after = newest.id;
			const news = newsFor(fresh, stream.reader.actor, site?.timeZone ?? 'UTC');
			if (news) send(stream, `data: ${JSON.stringify(news)}\n\n`);
		}
	}

	/** Rule 4. */
	async function dropGone(): Promise<void> {
		await Promise.all(
			[...streams].map(async (stream) => {
				if (!(await stream.reader.isStillIn())) end(stream);
			})
		);
	}

	async function beat(): Promise<void> {
		await dropGone().catch(() => undefined);
		for (const stream of streams) send(stream, ': here\n\n');
	}

	function send(stream: Stream, text: string): void {
		try {
			// Whoever doesn't read is not waited for.
			if ((stream.control.desiredSize ?? 0) < -100) return end(stream);
			stream.control.enqueue(encoder.encode(text));
		} catch {
			end(stream);
		}
	}

	function end(stream: Stream): void {
		if (!streams.delete(stream)) return;
		try {
			stream.control.close();
		} catch {
			// The page has gone already.
		}
		if (streams.size === 0) sleep();
	}

	function wake(): void {
		if (timers.length > 0) return;
		timers = [setInterval(() => void look(), everyMs), setInterval(() => void beat(), beatMs)];
		for (const timer of timers) timer.unref();
	}

	function sleep(): void {
		for (const timer of timers) clearInterval(timer);
		timers = [];
	}

	const isSame = (one: Actor, other: Actor) =>
		one.userId === other.userId && one.name === other.name;

	return {
		count: () => streams.size,
		open(reader) {
			const own = [...streams].filter((each) => isSame(each.reader.actor, reader.actor));
			if (isClosed || own.length >= streamsPerPerson) return null;
			let stream: Stream;
			return new ReadableStream<Uint8Array>({
				start(control) {
					stream = { reader, control, after: reader.after };
					streams.add(stream);
					wake();
					send(stream, 'retry: 5000\n\n');
					lookSoon();
				},
				cancel() {
					end(stream);
				}
			});
		},
		close() {
			isClosed = true;
			for (const stream of streams) end(stream);
		}
	};
}

/** The acts since, the last of them standing for all that are too many to look at. */
async function actsAfter(db: Reader, after: number): Promise<readonly ActSince[]> {
	const acts = await loadActsAfter(db, after, MOST);
	const last = acts.at(-1);
	if (!last || acts.length < MOST) return acts;
	return [...acts, { ...last, id: await newestActId(db), act: 'many acts', lot: null }];
}

/** Rules 2 and 3; null where nothing concerns a page that the role may open. */
function newsFor(entries: readonly ActSince[], actor: Actor, timeZone: string): LiveNews | null {
	const places = new Set<string>();
	const names = new Set<string>();
	let newest: ActSince | null = null;
	for (const entry of entries) {
		const open = concernsOf(entry.act, entry.lot).filter((place) => mayOpen(actor.role, place));
		if (open.length === 0) continue;
		for (const place of open) places.add(place);
		names.delete(entry.name);
		names.add(entry.name);
		newest = entry;
	}
	if (!newest) return null;
	const others = names.size - 1;
	const by = others === 0 ? newest.name : `${newest.name} and ${others} more`;
	const time = clockOf(newest.at, timeZone);
	return { id: newest.id, by, time, places: [...places] };
}
