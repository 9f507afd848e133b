import { leversOf, type Lever } from '#lib/domain/demand/levers.ts';
import type { ReadyDay } from '#lib/domain/demand/ready.ts';
import type { LotKind, Stage } from '#lib/domain/lot/lot.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import {
	backtestTests,
	type CalibrationBin,
	type ForetoldLot
} from '#lib/domain/trial/backtest.ts';
import type { Reader } from '../db/client.ts';
import { loadLotEvents, loadLots } from '../store/lots.ts';
import { loadReadingTraits } from '../store/readings.ts';
import { loadRoasters, type Roaster } from '../store/site.ts';
import { lotHref } from './places.ts';
import { loadRoastery, type LotFacts, type Roastery } from './roastery.ts';
import { dueOf, type Due } from './tests.ts';

/** A lot that is not released, with the chance that it will be in time and what it rests on. */
export interface ToProfileRow {
	readonly lotCode: string;
	readonly lotName: string;
	readonly href: string;
	readonly stage: Stage;
	readonly due: Due;
	/** Tests still needed. */
	readonly tests: { readonly mean: number; readonly low: number; readonly high: number };
	readonly testsRoasted: number;
	readonly firstSlot: Day | null;
	readonly middleDay: Day | null;
	readonly safeDay: Day | null;
	readonly levers: readonly Lever[];
	/** What the tests and the date rest on. */
	readonly because: readonly string[];
	readonly days: readonly ReadyDay[];
}

export interface ToProfilePage {
	readonly rows: readonly ToProfileRow[];
	/** Open lots before the filter. */
	readonly all: number;
}

/** Every lot still to be released, the least likely to be ready in time first, those without a date last. */
export async function loadToProfile(
	db: Reader,
	now: InstantMs,
	{ q }: { readonly q: string }
): Promise<ToProfilePage> {
	const [roastery, roasters] = await Promise.all([loadRoastery(db, now), loadRoasters(db)]);
	const open = roastery.lots.filter((facts) => facts.ready !== null);
	const rows = open
		.map((facts) => rowOf(facts, roastery, roasters))
		.filter(({ lotCode, lotName }) =>
			`${lotCode} ${lotName}`.toLowerCase().includes(q.toLowerCase())
		)
		.sort((a, b) => (a.due.chanceInTime ?? 2) - (b.due.chanceInTime ?? 2));
	return { rows, all: open.length };
}

function rowOf(facts: LotFacts, roastery: Roastery, roasters: readonly Roaster[]): ToProfileRow {
	const { lot, standing, remaining, ready, readyFacts } = facts;
	const [smallest] = roasters;
	const isOwn = smallest !== undefined && facts.testRoasterIds.includes(smallest.id);
	const from = readyFacts!.from;
	const freeDays = (ids: readonly number[]) => [
		...new Set(
			roastery.testSlots
				.filter((one) => one.slots > 0 && one.day >= from && ids.includes(one.roasterId))
				.map(({ day }) => day)
		)
	];
	return {
		lotCode: lot.code,
		lotName: lot.name,
		href: lotHref(lot.code),
		stage: standing.stage,
		due: dueOf(facts, roastery.today),
		tests: { mean: remaining!.mean, low: remaining!.low, high: remaining!.high },
		testsRoasted: facts.testsRoasted,
		firstSlot: readyFacts!.slotDays?.[0] ?? null,
		middleDay: ready!.middleDay,
		safeDay: ready!.safeDay,
		levers: leversOf(readyFacts!, {
			anyRoaster: freeDays(roasters.map(({ id }) => id)),
			smallest:
				smallest === undefined || isOwn
					? null
					: { name: smallest.name, days: freeDays([smallest.id]) }
		}),
		because: [remaining!.basis, ...ready!.because],
		days: ready!.days
	};
}

/** A released lot with what would have been foretold of it. */
export interface ForetoldRow extends Omit<ForetoldLot, 'lotId' | 'referenceFew'> {
	readonly lotCode: string;
	readonly lotName: string;
	readonly kind: string;
	readonly href: string;
}

export interface TestsForecastPage {
	/** Newest first. */
	readonly rows: readonly ForetoldRow[];
	readonly brier: number | null;
	readonly referenceBrier: number | null;
	readonly covered: number | null;
	readonly bins: readonly CalibrationBin[];
}

/** What the forecast of tests would have said of every released lot, and what came. */
export async function loadTestsForecast(db: Reader): Promise<TestsForecastPage> {
	const [lots, events, traits] = await Promise.all([
		loadLots(db),
		loadLotEvents(db),
		loadReadingTraits(db)
	]);
	const byId = new Map(lots.map((lot) => [lot.id, lot]));
	const { lots: foretold, ...scores } = backtestTests(
		lots.map((lot) => ({
			lotId: lot.id,
			kind: lot.kind as LotKind,
			events: events.get(lot.id)!,
			reading: traits.get(lot.id) ?? null
		}))
	);
	const rows = foretold.map(({ lotId, referenceFew: _, ...one }) => {
		const { code, name, kind } = byId.get(lotId)!;
		return { ...one, lotCode: code, lotName: name, kind, href: lotHref(code) };
	});
	return { ...scores, rows: rows.reverse() };
}
