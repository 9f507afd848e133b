import { describe, expect, it } from 'vitest';
import { boardOf, place, placed } from '#lib/domain/plan/decode.ts';
import {
	HOURS,
	type SearchModel,
	type Solution,
	type Stop,
	type Track
} from '#lib/domain/plan/model.ts';
import { searchFrom } from '#lib/domain/plan/search.ts';

/**
 * The search of the week plan on textbook schedules: its own code, on models of one or a few machines
 * without charges or shifts. A minute of the textbook is a minute here. Optima that are said to be found by
 * enumeration are found so below, or were by branch and bound outside.
 */

const MINUTE = 60_000;

interface Shop {
	/** Minutes of each job, by machine where they differ. */
	readonly minutes: readonly (number | readonly number[])[];
	readonly machines?: number;
	/** Due after so many minutes; never where left out. */
	readonly due?: readonly number[];
	/** Cost of each minute late, by job. */
	readonly perMinute?: readonly number[];
	/** Cost of being late at all. */
	readonly perLate?: number;
	/** Minutes until the machines close; what has no room then costs a million. */
	readonly open?: number;
	/** Setup minutes by state before (row) and job's state (column); state 0 is the start. */
	readonly setups?: readonly (readonly number[])[];
	readonly stateOf?: readonly number[];
	readonly after?: readonly number[];
	/** The only machine that a job may run on. */
	readonly on?: readonly number[];
}

function modelOf(shop: Shop): SearchModel {
	const jobs = shop.minutes.length;
	const machines = shop.machines ?? 1;
	const states = shop.setups?.length ?? 2;
	const numbers = (of: (job: number) => number) =>
		Float64Array.from({ length: jobs }, (_, job) => of(job));
	const stop: Stop = {
		...{ isLock: false, startMs: 0, endMs: (shop.open ?? 1e6) * MINUTE },
		...{ regularEndMs: (shop.open ?? 1e6) * MINUTE, shiftStartMs: -Infinity, window: 0 },
		...{ lockClass: 0, lockCost: 0, counts: false, nextLock: -1, isNextHere: false, openMs: 0 }
	};
	const setups = Float64Array.from(shop.setups?.flat() ?? [0, 0, 0, 0]);
	const tracks = Array.from({ length: machines }, (_, t): Track => ({
		takes: Uint8Array.from({ length: jobs }, (_, job) => Number((shop.on?.[job] ?? t) === t)),
		lastsMs: numbers((job) => {
			const own = shop.minutes[job]!;
			return (typeof own === 'number' ? own : own[t]!) * MINUTE;
		}),
		batchCost: numbers(() => 0),
		...{ minG: 1000, maxG: 1000, warmUpMs: 0, warmUpCost: 0, firstClass: 0, firstEndMs: 0 },
		setupMs: setups.map((minutes) => minutes * MINUTE),
		setupCost: setups,
		stops: [{ ...stop, window: t }]
	}));
	return {
		kinds: jobs,
		classes: states,
		classOf: Int32Array.from({ length: jobs }, (_, job) => shop.stateOf?.[job] ?? 1),
		dueMs: numbers((job) => (shop.due?.[job] ?? 1e6) * MINUTE),
		notBeforeMs: numbers(() => 0),
		after: Int32Array.from({ length: jobs }, (_, job) => shop.after?.[job] ?? -1),
		lagMs: 0,
		needsPresence: new Uint8Array(jobs),
		presences: [],
		isSingle: new Uint8Array(jobs).fill(1),
		massG: numbers(() => 1000),
		lateCost: numbers(() => shop.perLate ?? 0),
		lateMsCost: numbers((job) => (shop.perMinute?.[job] ?? 0) / MINUTE),
		unplacedCost: numbers(() => 1e6),
		overtimeMsCost: 0,
		windows: machines,
		hasOvertime: new Uint8Array(machines),
		tracks
	};
}

/** The jobs in the order given, each on its machine, else all on the first. */
function inOrder({ minutes, machines = 1, on }: Shop): Solution {
	const jobs = minutes.map((_, job) => job);
	return {
		sequences: Array.from({ length: machines }, (_, t) =>
			jobs.filter((job) => (on?.[job] ?? 0) === t)
		),
		hours: Array.from({ length: machines }, () => HOURS.regular)
	};
}

function best(
	shop: Shop,
	steps: number,
	seed = 1
): { cost: number; sequences: readonly (readonly number[])[] } {
	const search = searchFrom(modelOf(shop), inOrder(shop), seed);
	search.run(steps);
	return { cost: Math.round(search.cost * 1e6) / 1e6, sequences: search.best().sequences };
}

/** Weighted tardiness of an order, worked out apart from the search. */
function tardiness({ minutes, due = [], perMinute = [] }: Shop, order: readonly number[]): number {
	let [at, sum] = [0, 0];
	for (const job of order) {
		at += minutes[job] as number;
		sum += perMinute[job]! * Math.max(0, at - due[job]!);
	}
	return sum;
}

function everyOrder(jobs: readonly number[]): readonly (readonly number[])[] {
	if (jobs.length === 0) return [[]];
	return jobs.flatMap((job) =>
		everyOrder(jobs.filter((one) => one !== job)).map((rest) => [job, ...rest])
	);
}

/**
 * OR-Library, weighted tardiness, file wt40, instance 1 (Beasley 1990; instance of Crauwels, Potts and Van
 * Wassenhove 1998): best known value 913, proven optimal by others; a copy of the library's file of optima
 * was seen, the proof was not.
 */
const WT40: Shop = {
	minutes: [
		26, 24, 79, 46, 32, 35, 73, 74, 14, 67, 86, 46, 78, 40, 29, 94, 64, 27, 90, 55, 35, 52, 36, 69,
		85, 95, 14, 78, 37, 86, 44, 28, 39, 12, 30, 68, 70, 9, 49, 50
	],
	perMinute: [
		1, 10, 9, 10, 10, 4, 3, 2, 10, 3, 7, 3, 1, 3, 10, 4, 7, 7, 4, 7, 5, 3, 5, 4, 9, 5, 2, 8, 10, 4,
		7, 4, 9, 5, 7, 7, 5, 10, 1, 3
	],
	due: [
		1588, 1620, 1731, 1773, 1694, 1487, 1566, 1844, 1727, 1636, 1599, 1539, 1855, 1645, 1709, 1660,
		1582, 1836, 1484, 1559, 1772, 1510, 1512, 1795, 1522, 1509, 1598, 1658, 1826, 1628, 1650, 1833,
		1627, 1528, 1541, 1497, 1481, 1446, 1579, 1814
	]
};

describe('OR-Library wt40, instance 1', () => {
	const jobs = WT40.minutes.map((_, job) => job);
	it('costs what the file says in three known orders (values by recomputation)', () => {
		expect(tardiness(WT40, jobs)).toBe(16_672);
		expect(
			tardiness(
				WT40,
				jobs.toSorted((a, b) => WT40.due![a]! - WT40.due![b]!)
			)
		).toBe(1588);
		expect(searchFrom(modelOf(WT40), inOrder(WT40), 1).cost).toBeCloseTo(16_672, 6);
	});
	// The others of the six seeds stay at 930, two per cent above: as good as a lone run is.
	it('is brought to its optimum, 913, by half of six seeds, and near it by all', () => {
		const found = [1, 2, 3, 4, 5, 6].map((seed) => best(WT40, 150_000, seed));
		const there = found.filter(({ cost }) => cost === 913);
		expect(there.length).toBeGreaterThanOrEqual(3);
		for (const { sequences } of there) expect(tardiness(WT40, sequences[0]!)).toBe(913);
		expect(Math.min(...found.map(({ cost }) => cost))).toBe(913);
		expect(Math.max(...found.map(({ cost }) => cost))).toBeLessThanOrEqual(930);
	});
});

describe('small schedules with known optima', () => {
	// Pinedo, Scheduling, the example of the Moore-Hodgson rule (data from memory).
	it('Moore-Hodgson: two of five late', () => {
		const shop = { minutes: [7, 8, 4, 6, 6], due: [9, 17, 18, 19, 21], perLate: 1 };
		expect(best(shop, 3000).cost).toBe(2);
	});

	// Pinedo, total tardiness (data from memory); optima by enumeration here.
	it.each([
		[[121, 79, 147, 83, 130], [260, 266, 266, 336, 337], 370],
		[[121, 79, 147, 83, 130, 102, 96], [260, 266, 266, 336, 337, 400, 683], null]
	])('total tardiness of %j', (minutes, due, known) => {
		const shop = { minutes, due, perMinute: minutes.map(() => 1) };
		const least = Math.min(
			...everyOrder(minutes.map((_, i) => i)).map((order) => tardiness(shop, order))
		);
		if (known !== null) expect(least).toBe(known);
		expect(best(shop, 5000).cost).toBe(least);
	});

	// Weighted tardiness with a unique optimum, 1 2 4 3 (data from memory, optimum by enumeration).
	it('weighted tardiness 67, in the one order that has it', () => {
		const shop = { minutes: [12, 8, 15, 9], due: [16, 26, 25, 27], perMinute: [4, 5, 3, 5] };
		expect(best(shop, 3000)).toMatchObject({ cost: 67, sequences: [[0, 1, 3, 2]] });
	});

	// Smith's rule (1956): by weight over minutes. With all due at 0 tardiness is completion.
	it('weighted shortest first: sum of weighted completions 113', () => {
		const shop = { minutes: [4, 3, 8, 2], due: [0, 0, 0, 0], perMinute: [3, 5, 4, 1] };
		expect(best(shop, 3000).cost).toBe(113);
	});

	// Setups that depend on the order; both values by enumeration.
	it('setups by order: the cheapest open path from the start is 3 2 1, for 9', () => {
		const setups = [
			[0, 5, 9, 4],
			[5, 0, 3, 8],
			[9, 3, 0, 2],
			[7, 6, 2, 0]
		];
		const shop = { minutes: [1, 1, 1], setups, stateOf: [1, 2, 3] };
		expect(best(shop, 2000)).toMatchObject({ cost: 9, sequences: [[2, 1, 0]] });
	});
});

/**
 * Graham (1969): longest first on m equal machines can be 4/3 - 1/(3m) times the least makespan. The least
 * makespan is the shortest day that holds every job: with a minute less, one has no place.
 */
describe('parallel machines, the worst cases of longest first', () => {
	it.each([
		[2, [3, 3, 2, 2, 2], 7, 6],
		[3, [5, 5, 4, 4, 3, 3, 3], 11, 9],
		[4, [7, 7, 6, 6, 5, 5, 4, 4, 4], 15, 12]
	])('%i machines, %j: longest first %i, least %i', (machines, minutes, byRule, least) => {
		const loads = Array.from({ length: machines }, () => 0);
		for (const own of minutes) {
			const t = loads.indexOf(Math.min(...loads));
			loads[t]! += own;
		}
		expect(Math.max(...loads)).toBe(byRule);
		expect(byRule / least).toBeCloseTo(4 / 3 - 1 / (3 * machines), 12);
		expect(best({ minutes, machines, open: least }, 20_000).cost).toBe(0);
		expect(best({ minutes, machines, open: least - 1 }, 5000).cost).toBeGreaterThan(0);
	});
});

/** Johnson (1954): two machines in line. Each job is two, the second waiting for the first. */
describe('two machines in line', () => {
	const first = [3, 5, 1, 6, 7];
	const second = [6, 2, 2, 6, 5];
	const shop = (open: number): Shop => ({
		minutes: [...first, ...second],
		machines: 2,
		on: [...first.map(() => 0), ...second.map(() => 1)],
		after: [...first.map(() => -1), ...second.map((_, i) => i)],
		open
	});
	it('have every job done in 24 minutes and not in 23', () => {
		const found = searchFrom(modelOf(shop(24)), inOrder(shop(24)), 1);
		found.run(20_000);
		expect(found.cost).toBe(0);
		expect(lastEnd(shop(24), found.best())).toBe(24);
		const tighter = searchFrom(modelOf(shop(23)), inOrder(shop(23)), 1);
		tighter.run(5000);
		expect(tighter.cost).toBeGreaterThan(0);
	});
});

/** When the last job ends, minutes. */
function lastEnd(shop: Shop, solution: Solution): number {
	const board = boardOf(modelOf(shop), solution, 0);
	let last = 0;
	board.sweep = 1;
	board.lanes.forEach((lane, t) => {
		const track = board.model.tracks[t]!;
		let [stop, endMs, cls] = [0, track.firstEndMs, track.firstClass];
		for (let p = 0; p < lane.length; p += 1) {
			place(board, track, lane.kinds[p]!, stop, endMs, cls);
			[stop, endMs, cls] = [placed.stop, placed.endMs, 1];
			board.endOf[lane.kinds[p]!] = placed.endMs;
			last = Math.max(last, placed.endMs / MINUTE);
		}
	});
	return last;
}
