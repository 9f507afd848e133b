import { asc, eq } from 'drizzle-orm';
import { LOT_KINDS } from '#lib/domain/lot/lot.ts';
import type { DayHours } from '#lib/domain/plan/hours.ts';
import { notYetIn } from '#lib/domain/plan/whatIf.ts';
import type { ActName } from '#lib/domain/access/rights.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { isDay } from '#lib/domain/quantity/week.ts';
import {
	closure,
	dayHours,
	flavouredProduct,
	planHours,
	planSettings,
	roasterBar
} from '../db/schema.ts';
import {
	loadClosures,
	loadDayHours,
	loadPlanHours,
	loadPlanSettings,
	type PlanSettings
} from '../store/planning.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';
import { versionProblem } from './versions.ts';

/**
 * What planning goes by. All of it has one version: whoever saves a part of it has seen the whole.
 */
type Seen = number;
type Saved = Promise<Outcome<{ version: number }>>;

/** Weights, separations and overtime. */
export async function savePlanSettings(
	deed: Deed,
	input: Omit<PlanSettings, 'version'>,
	seen: Seen
): Saved {
	const before = flat(await loadPlanSettings(deed.tx));
	const saved = await raise(deed, seen, input);
	if (saved.ok) await note(deed, 'save plan settings', null, changes(before, flat(input)));
	return saved;
}

function flat({ weights, separations, overtimeMin }: Omit<PlanSettings, 'version'>) {
	return { ...weights, separations, overtimeMin };
}

/** Rows without what they are numbered by: as they were and as they are. */
function rowChanges(before: readonly object[], after: readonly object[]) {
	const plain = (rows: readonly object[]) =>
		rows.map((row) => Object.fromEntries(Object.entries(row).filter(([key]) => key !== 'id')));
	return { before: { rows: plain(before) }, after: { rows: plain(after) } };
}

/** A row of hours as typed; minutes after the site's midnight. */
export interface HoursInput {
	readonly roasterId: number | null;
	/** ISO weekday, Monday is 1. */
	readonly weekday: number;
	readonly startMin: number;
	readonly endMin: number;
}

/** Replaces the breaks of all roasters. */
export async function saveBreaks(deed: Deed, rows: readonly HoursInput[], seen: Seen): Saved {
	const before = await hoursOf(deed, 'break');
	const saved = await replaceHours(deed, 'break', rows, seen);
	if (saved.ok) await note(deed, 'save breaks', null, rowChanges(before, rows));
	return saved;
}

/** Replaces the hours in which somebody for profiling is there; none kept means always. */
export async function saveProfilingHours(
	deed: Deed,
	rows: readonly HoursInput[],
	seen: Seen
): Saved {
	const before = await hoursOf(deed, 'profiling');
	const saved = await replaceHours(deed, 'profiling', rows, seen);
	if (saved.ok) await note(deed, 'save profiling hours', null, rowChanges(before, rows));
	return saved;
}

async function hoursOf(deed: Deed, kind: 'break' | 'profiling') {
	const rows = await loadPlanHours(deed.tx);
	return rows.filter((row) => row.kind === kind).map(({ kind: _, ...row }) => row);
}

async function replaceHours(
	deed: Deed,
	kind: 'break' | 'profiling',
	rows: readonly HoursInput[],
	seen: Seen
): Saved {
	const problems = rows.flatMap(({ startMin, endMin }, i): Problem[] =>
		startMin < endMin && startMin >= 0 && endMin <= 24 * 60
			? []
			: [{ path: `row ${i + 1}`, message: 'Expected an end after the start, within one day.' }]
	);
	if (problems.length > 0) return bad(...problems);
	const saved = await raise(deed, seen, {});
	if (!saved.ok) return saved;
	await deed.tx.delete(planHours).where(eq(planHours.kind, kind));
	if (rows.length > 0)
		await deed.tx.insert(planHours).values(rows.map((row) => ({ ...row, kind })));
	return saved;
}

export type ClosureInput = Omit<typeof closure.$inferInsert, 'id'>;

/** Replaces the closures. */
export async function saveClosures(deed: Deed, rows: readonly ClosureInput[], seen: Seen): Saved {
	const problems = rows.flatMap(({ fromDay, toDay }, i): Problem[] =>
		fromDay <= toDay
			? []
			: [
					{
						path: `row ${i + 1}`,
						message: `Found ${fromDay} to ${toDay}, expected a last day not before the first.`
					}
				]
	);
	if (problems.length > 0) return bad(...problems);
	const saved = await raise(deed, seen, {});
	if (!saved.ok) return saved;
	const before = await loadClosures(deed.tx);
	await deed.tx.delete(closure);
	if (rows.length > 0) await deed.tx.insert(closure).values([...rows]);
	await note(deed, 'save closures', null, rowChanges(before, rows));
	return saved;
}

export interface DayHoursInput extends DayHours {
	readonly reason: string;
}

/** Replaces the hours of single days. */
export async function saveDayHours(deed: Deed, rows: readonly DayHoursInput[], seen: Seen): Saved {
	const problems = rows.flatMap(dayHoursProblems);
	if (problems.length > 0) return bad(...problems);
	const saved = await raise(deed, seen, {});
	if (!saved.ok) return saved;
	const before = await loadDayHours(deed.tx);
	await deed.tx.delete(dayHours);
	if (rows.length > 0) await deed.tx.insert(dayHours).values([...rows]);
	await note(deed, 'save hours of days', null, rowChanges(before, rows));
	return saved;
}

/** Adds hours of single days to those that are there; those that are there already are left out. */
export async function addDayHours(deed: Deed, rows: readonly DayHoursInput[]): Saved {
	const { version } = await loadPlanSettings(deed.tx);
	const there = (await loadDayHours(deed.tx)).map(({ id: _, ...row }) => row as DayHoursInput);
	return saveDayHours(deed, [...there, ...notYetIn(there, rows)], version);
}

function dayHoursProblems(row: DayHoursInput, i: number): Problem[] {
	const { kind, roasterId, day, startMin, endMin } = row;
	const path = `row ${i + 1}`;
	if (!isDay(day)) return [{ path, message: `Found '${day}', expected a day such as 2026-12-24.` }];
	if (startMin >= endMin || startMin < 0 || endMin > 24 * 60)
		return [{ path, message: 'Expected an end after the start, within one day.' }];
	if (kind === 'shift' && roasterId === null)
		return [{ path, message: 'Say which roaster has the extra shift.' }];
	return [];
}

export interface RunsWhereInput {
	/** What may not run where; one of product and lot kind each. */
	readonly bars: readonly {
		readonly roasterId: number;
		readonly productId: number | null;
		readonly lotKind: string | null;
	}[];
	/** Products that carry a flavour over. */
	readonly flavoured: readonly number[];
}

const { roasterId, productId, lotKind } = roasterBar;
const BAR = { roasterId, productId, lotKind };

/** Replaces what may not run where, and which products are flavoured. */
export async function saveRunsWhere(deed: Deed, input: RunsWhereInput, seen: Seen): Saved {
	const strange = input.bars.find(
		({ lotKind }) => lotKind !== null && !LOT_KINDS.some((kind) => kind === lotKind)
	);
	if (strange)
		return bad({ path: 'lot kind', message: `There is no kind of lot '${strange.lotKind}'.` });
	const saved = await raise(deed, seen, {});
	if (!saved.ok) return saved;
	const before = {
		bars: await deed.tx.select(BAR).from(roasterBar).orderBy(asc(roasterBar.id)),
		flavoured: (await deed.tx.select().from(flavouredProduct)).map(({ productId }) => productId)
	};
	await deed.tx.delete(roasterBar);
	await deed.tx.delete(flavouredProduct);
	if (input.bars.length > 0) await deed.tx.insert(roasterBar).values([...input.bars]);
	if (input.flavoured.length > 0)
		await deed.tx
			.insert(flavouredProduct)
			.values(input.flavoured.map((productId) => ({ productId })));
	await note(deed, 'save what runs where', null, changes(before, { ...input }));
	return saved;
}

const PLANNING_ACTS: readonly ActName[] = [
	...(['save plan settings', 'save breaks', 'save profiling hours', 'save closures'] as const),
	...(['save hours of days', 'save what runs where'] as const)
];

/** The next version of everything that planning goes by, with what of the settings changes. */
async function raise(deed: Deed, seen: Seen, change: Partial<PlanSettings>): Saved {
	const now = await loadPlanSettings(deed.tx);
	const conflict = await versionProblem(deed, 'What planning goes by', seen, now.version, {
		acts: PLANNING_ACTS
	});
	if (conflict) return bad({ ...conflict, path: 'version' });
	const { weights, separations, overtimeMin } = { ...now, ...change };
	const version = now.version + 1;
	const row = { weights, separations, overtimeMin, version };
	await deed.tx
		.insert(planSettings)
		.values({ id: 1, ...row })
		.onConflictDoUpdate({ target: planSettings.id, set: row });
	return good({ version });
}
