import {
	chanceWithinBudget,
	costAhead,
	costTogether,
	similarTests,
	stepFor,
	type CostAhead,
	type SimilarTests
} from '#lib/domain/cost/outlook.ts';
import { isAheadIn, isInPeriod, periodsOfDay } from '#lib/domain/cost/budget.ts';
import { formatScaled, ratio } from '#lib/domain/quantity/decimal.ts';
import {
	minorDecimals,
	money,
	parseMoney,
	scale,
	subtract,
	sum,
	type Money
} from '#lib/domain/quantity/money.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { monthOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadTestBudgets, type TestBudget } from '../store/costs.ts';
import { loadLotRecords } from '../store/lotRecords.ts';
import { loadRoasters } from '../store/site.ts';
import { loadCosting, type ListedTest } from './costing.ts';
import { isOpen, loadRoastery, type LotFacts } from './roastery.ts';

/** Money that is expected, with the interval that holds at least 80 %. */
export interface Expected {
	readonly mean: Money;
	readonly low: Money;
	readonly high: Money;
}

export interface LotAheadView {
	readonly code: string;
	readonly name: string;
	readonly kind: string;
	readonly stage: string;
	readonly releaseBy: Day | null;
	/** Why it has that day, or none. */
	readonly because: string;
	/** Tests still to roast, and what that rests on. */
	readonly tests: { readonly mean: number; readonly low: number; readonly high: number };
	readonly testsBasis: string;
	/** The tests that a coming one is expected to be like; null `kind` or `roaster` is any. */
	readonly like: {
		readonly tests: number;
		readonly kind: string | null;
		readonly roaster: string | null;
		readonly meanNet: Money;
	};
	/** Net cost of its tests so far, and how many of them are costed. */
	readonly spent: Money;
	readonly spentTests: number;
	readonly ahead: Expected;
}

export interface MonthAheadView {
	/** `2026-12`; null for lots without a release-by day. */
	readonly month: string | null;
	readonly isPast: boolean;
	readonly codes: readonly string[];
	readonly ahead: Expected;
}

/** A budget of a month or a year beside what counts in it. */
export interface BudgetView {
	readonly period: string;
	readonly amount: Money;
	/** Net cost of the tests roasted in it so far, and how many. */
	readonly spent: Money;
	readonly spentTests: number;
	/** What the open lots that count in it will probably still cost. */
	readonly ahead: Expected;
	readonly lots: readonly string[];
	/** Budget less what is spent and expected; below zero where it will not do. */
	readonly left: Money;
	/** Null once the period is over. */
	readonly chanceWithin: number | null;
	readonly by: string;
}

export interface AheadView {
	/** Budgets that are kept, oldest first. */
	readonly budgets: readonly BudgetView[];
	/** What the form of a budget starts from, and the version kept for its period. */
	readonly budgetForm: {
		readonly fields: { readonly period: string; readonly amount: string };
		readonly version: number;
	};
	readonly currency: string;
	readonly today: Day;
	readonly lots: readonly LotAheadView[];
	readonly months: readonly MonthAheadView[];
	readonly total: Expected;
	/** As typed in the address. */
	readonly budgetText: string;
	readonly budgetProblem: string | null;
	/** Null without a budget that can be read. */
	readonly budget: { readonly amount: Money; readonly chanceWithin: number } | null;
	/** Grid of the distribution. */
	readonly step: Money;
	/** Roasted tests whose coffee is not accounted for yet: they say nothing about a net cost. */
	readonly unaccounted: number;
	/** Open lots that can't be costed, and tests left out of the means. */
	readonly problems: readonly Problem[];
}

interface PastListed extends ListedTest {
	readonly kind: string;
	readonly roaster: string;
}

/**
 * Expected cost of the tests that the open lots still need, against the budgets that are kept and against
 * one that is asked about.
 * @param budgetText an amount to ask about, in major units; empty for none
 * @param period of the budget to change; null for a new one of this month
 */
export async function loadAhead(
	db: Reader,
	now: InstantMs,
	budgetText: string,
	period: string | null = null
): Promise<AheadView> {
	const roastery = await loadRoastery(db, now);
	const { site, today } = roastery;
	const [costing, records, roasters, kept] = await Promise.all([
		loadCosting(db, site),
		loadLotRecords(db),
		loadRoasters(db),
		loadTestBudgets(db)
	]);
	const { currency } = costing;
	const every = costing.tests.map((t) => ({ ...t, kind: t.lotKind, roaster: t.roasterName }));
	const past = every.filter(({ recoveries }) => recoveries.length > 0);
	const stepMinor = stepFor(past.map(({ net }) => net.minor));
	const roasterNames = new Map(roasters.map(({ id, name }) => [id, name]));
	const roasterOf = (lotId: number) => roasterNames.get(records.get(lotId)!.testRoasterId ?? 0);
	const open = roastery.lots.filter(isOpen).sort(byReleaseBy);
	const lots = open.flatMap((facts) => {
		const roaster = roasterOf(facts.lot.id) ?? null;
		const like = similarTests(past, facts.lot.kind, roaster);
		return like ? [lotAhead(facts, like, every, stepMinor)] : [];
	});
	const total = costTogether(
		lots.map(({ cost }) => cost),
		stepMinor,
		currency
	);
	const budget = budgetText === '' ? null : parseMoney(budgetText.replaceAll(',', ''), currency);
	return {
		...{ currency, today, budgetText },
		budgets: kept.map((row) => budgetView(row, every, lots, today, stepMinor, currency)),
		budgetForm: budgetForm(kept, period ?? periodsOfDay(today)[0], currency),
		lots: lots.map(({ view }) => view),
		months: months(lots, today, stepMinor, currency),
		total: expected(total),
		budgetProblem: budget && !budget.ok ? budget.problems.map((p) => p.message).join(' ') : null,
		budget: budget?.ok
			? { amount: budget.value, chanceWithin: chanceWithinBudget(total, budget.value) }
			: null,
		step: { minor: stepMinor, currency },
		unaccounted: every.length - past.length,
		problems: [...noCosts(open.length, lots.length), ...costing.uncosted]
	};
}

function budgetForm(
	kept: readonly TestBudget[],
	period: string,
	currency: string
): AheadView['budgetForm'] {
	const row = kept.find((each) => each.period === period);
	const amount = row ? formatScaled(row.amountMinor, minorDecimals(currency)) : '';
	return {
		fields: { period, amount: amount.replaceAll(',', '') },
		version: row?.version ?? 0
	};
}

function budgetView(
	{ period, amountMinor, by }: TestBudget,
	every: readonly PastListed[],
	lots: readonly LotAhead[],
	today: Day,
	stepMinor: number,
	currency: string
): BudgetView {
	const amount = money(amountMinor, currency);
	const done = every.filter(({ day }) => isInPeriod(day, period));
	const spent = sum(
		done.map(({ net }) => net),
		currency
	);
	const isOver = period < today.slice(0, period.length);
	const open = isOver ? [] : lots.filter(({ view }) => isAheadIn(view.releaseBy, today, period));
	const ahead = costTogether(
		open.map(({ cost }) => cost),
		stepMinor,
		currency
	);
	const rest = subtract(amount, spent);
	return {
		...{ period, amount, spent, by },
		spentTests: done.length,
		ahead: expected(ahead),
		lots: open.map(({ view }) => view.code),
		left: subtract(rest, ahead.mean),
		chanceWithin: isOver ? null : chanceWithinBudget(ahead, rest)
	};
}

interface LotAhead {
	readonly view: LotAheadView;
	readonly cost: CostAhead;
}

function lotAhead(
	{ lot, standing, remaining, releaseBy }: LotFacts,
	like: SimilarTests<PastListed>,
	every: readonly PastListed[],
	stepMinor: number
): LotAhead {
	const { currency } = like.tests[0]!.net;
	const { mean, low, high, basis } = remaining!;
	const nets = like.tests.map(({ net }) => net);
	const cost = costAhead(
		remaining!,
		nets.map(({ minor }) => minor),
		stepMinor,
		currency
	);
	const own = every.filter(({ lotId }) => lotId === lot.id);
	const view: LotAheadView = {
		...{ code: lot.code, name: lot.name, kind: lot.kind, stage: standing.stage },
		releaseBy: releaseBy?.releaseBy?.day ?? null,
		because: releaseBy?.releaseBy?.because ?? releaseBy?.reason ?? '',
		tests: { mean, low, high },
		testsBasis: basis,
		like: {
			...{ tests: nets.length, kind: like.kind, roaster: like.roaster },
			meanNet: scale(sum(nets, currency), ratio(1, nets.length))
		},
		spent: sum(
			own.map(({ net }) => net),
			currency
		),
		spentTests: own.length,
		ahead: expected(cost)
	};
	return { view, cost };
}

/** Earliest first, lots without a day last. */
function byReleaseBy(a: LotFacts, b: LotFacts): number {
	const day = ({ releaseBy }: LotFacts) => releaseBy?.releaseBy?.day ?? '9999';
	return day(a) < day(b) ? -1 : day(a) > day(b) ? 1 : a.lot.code < b.lot.code ? -1 : 1;
}

function months(
	lots: readonly LotAhead[],
	today: Day,
	stepMinor: number,
	currency: string
): MonthAheadView[] {
	const groups = Map.groupBy(lots, ({ view }) => (view.releaseBy ? monthOf(view.releaseBy) : null));
	return [...groups].map(([month, inside]) => ({
		month,
		isPast: month !== null && month < monthOf(today),
		codes: inside.map(({ view }) => view.code),
		ahead: expected(
			costTogether(
				inside.map(({ cost }) => cost),
				stepMinor,
				currency
			)
		)
	}));
}

function expected({ mean, low, high }: CostAhead): Expected {
	return { mean, low, high };
}

function noCosts(open: number, costed: number): Problem[] {
	if (costed === open) return [];
	return [
		{
			path: 'All open lots',
			message:
				'No roasted test has its costs and what its coffee brought in yet, so nothing says what a coming one will cost.'
		}
	];
}
