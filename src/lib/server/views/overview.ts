import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { daysBetween } from '#lib/domain/quantity/week.ts';
import type { Stage } from '#lib/domain/lot/lot.ts';
import type { Reader } from '../db/client.ts';
import { loadTestSlots } from '../store/production.ts';
import { loadRoasters, loadShifts } from '../store/site.ts';
import { loadTests } from '../store/tests.ts';
import { loadStatement, NO_FILTER, type StatementView } from './cost.ts';
import { lotRow, sortLots, type LotRow } from './lots.ts';
import { lotHref } from './places.ts';
import { isOpen, loadRoastery, type LotFacts, type Roastery } from './roastery.ts';
import {
	lotsInTest,
	queueOf,
	reviewOf,
	unplannedOf,
	type QueueRow,
	type ReviewRow,
	type UnplannedRow
} from './tests.ts';

/** Released lots whose stock ends within so many days are named. */
export const RUN_OUT_DAYS = 28;

/** A released lot that runs out soon, and what comes after it. */
export interface RunOut {
	readonly code: string;
	readonly name: string;
	readonly href: string;
	readonly runOutDay: string;
	readonly daysLeft: number;
	readonly leftG: number;
	readonly how: string;
	readonly next: readonly {
		readonly code: string;
		readonly href: string;
		readonly stage: Stage;
	}[];
}

/** What a roastery without lots does first, in order. */
export interface FirstStep {
	readonly label: string;
	readonly href: string;
	readonly done: boolean;
}

export interface Overview {
	/** Empty when there are lots. */
	readonly firstSteps: readonly FirstStep[];
	/** Lots not released yet: too late first, then the soonest date. */
	readonly toRelease: readonly LotRow[];
	readonly tooLate: number;
	readonly atRisk: number;
	readonly queue: readonly QueueRow[];
	readonly review: readonly ReviewRow[];
	readonly unplanned: readonly UnplannedRow[];
	readonly cost: StatementView;
	/** Soonest first. */
	readonly runningOut: readonly RunOut[];
}

/** What the three questions of the first page are answered from. */
export async function loadOverview(db: Reader, now: InstantMs): Promise<Overview> {
	const roastery = await loadRoastery(db, now);
	const [tests, slots, cost, roasters, shifts] = await Promise.all([
		loadTests(db, { lotId: lotsInTest(roastery) }),
		loadTestSlots(db, now),
		loadStatement(db, now, { cut: 'month', filter: NO_FILTER, period: null }),
		loadRoasters(db),
		loadShifts(db)
	]);
	const open = roastery.lots.filter(isOpen).map((facts) => lotRow(facts, roastery.today));
	const inState = (state: string) => open.filter(({ due }) => due?.state === state).length;
	const firstSteps = [
		{ label: 'Describe the roasters', href: '/setup/roasters', done: roasters.length > 0 },
		{ label: 'Say in which shifts they run', href: '/setup/roasters', done: shifts.length > 0 },
		{
			label: 'Enter the products and what is ordered of them',
			href: '/setup/products',
			done: roastery.products.length > 0
		},
		{ label: 'Enter the first lot', href: '/lots/new', done: false }
	];
	return {
		firstSteps: roastery.lots.length === 0 ? firstSteps : [],
		toRelease: sortLots(open, null),
		tooLate: inState('too late'),
		atRisk: inState('at risk'),
		queue: queueOf(roastery, tests, slots),
		review: reviewOf(roastery, tests),
		unplanned: unplannedOf(roastery),
		cost,
		runningOut: runningOut(roastery)
	};
}

function runningOut({ lots, today }: Roastery): RunOut[] {
	return lots
		.flatMap((facts) => runOut(facts, lots, today))
		.sort((a, b) => a.daysLeft - b.daysLeft || (a.code < b.code ? -1 : 1));
}

function runOut(facts: LotFacts, lots: readonly LotFacts[], today: string): RunOut[] {
	const { lot, standing, cover, events } = facts;
	if (standing.stage !== 'released' || cover.runOutDay === null) return [];
	const daysLeft = daysBetween(today, cover.runOutDay);
	if (daysLeft > RUN_OUT_DAYS) return [];
	return [
		{
			code: lot.code,
			name: lot.name,
			href: lotHref(lot.code),
			runOutDay: cover.runOutDay,
			daysLeft,
			leftG: events.onHandG,
			how: cover.how.join(' '),
			next: lots
				.filter((other) => other.lot.replacesLotId === lot.id)
				.map((other) => ({
					code: other.lot.code,
					href: lotHref(other.lot.code),
					stage: other.standing.stage
				}))
		}
	];
}
