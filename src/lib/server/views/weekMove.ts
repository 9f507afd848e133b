import { moveSlot, type Consequence } from '#lib/domain/plan/move.ts';
import { sayMinutes } from '#lib/domain/plan/say.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import type { InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import { instantAt, isDay, weekOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadRoasters } from '../store/site.ts';
import type { Slot } from '../store/production.ts';
import { momentOf } from './moment.ts';
import { loadRoastery } from './roastery.ts';
import { slotWords } from './week.ts';
import { loadStanding, type WeekStanding } from './weekStanding.ts';
import { momentShortWords } from './words.ts';

/** Where a slot is to go, as typed. */
export interface MoveFields {
	readonly slotId: number;
	/** Code of the roaster. */
	readonly roaster: string;
	readonly day: string;
	/** `10:05`, the site's clock. */
	readonly time: string;
}

/** A move that was worked out, and not made. */
export interface WorkedOutMove {
	readonly standing: WeekStanding;
	readonly row: Slot;
	readonly found: Consequence;
	/** `HR-151 test 2`. */
	readonly what: string;
	/** `Tue 24 Nov 10:05 on Drum A`. */
	readonly from: string;
	readonly to: string;
}

/** Works out a move in the plan as it stands; the problems name the fields. */
export async function workOutMove(
	db: Reader,
	now: InstantMs,
	week: IsoWeek,
	fields: MoveFields
): Promise<Outcome<WorkedOutMove>> {
	const roastery = await loadRoastery(db, now);
	const zone = roastery.site.timeZone;
	const [roasters, standing] = await Promise.all([
		loadRoasters(db),
		loadStanding(db, roastery, week, [fields.slotId])
	]);
	const index = standing.rows.findIndex(({ id }) => id === fields.slotId);
	const row = standing.rows[index];
	if (!row)
		return bad({
			path: 'slot',
			message:
				'This slot is over or not there any more: the week was planned anew. Pick it again below.'
		});
	if (row.recordedAt !== null || row.startAt < now)
		return bad({ path: 'slot', message: 'It has begun; what has happened stays where it is.' });
	const roaster = roasters.find(({ code }) => code === fields.roaster);
	if (!roaster)
		return bad({ path: 'to', message: `Found '${fields.roaster}', expected a roaster's code.` });
	const start = startOf(fields, week, zone);
	if (!start.ok) return start;
	const move = { index, roasterId: roaster.id, startMs: start.value };
	const name = (id: number) => roasters.find((one) => one.id === id)?.name ?? 'a roaster';
	const place = (atMs: InstantMs, roasterId: number) =>
		`${momentShortWords(momentOf(atMs, zone))} on ${name(roasterId)}`;
	return good({
		...{ standing, row, what: slotWords(row, standing.names) },
		found: moveSlot(standing.problem, standing.plan, move, standing.weights),
		from: place(row.startAt, row.roasterId),
		to: place(start.value, roaster.id)
	});
}

function startOf({ day, time }: MoveFields, week: IsoWeek, zone: string): Outcome<InstantMs> {
	if (!isDay(day) || weekOf(day) !== week)
		return bad({ path: 'day', message: `Found '${day}', expected a day of ${week}.` });
	const match = /^([01]\d|2[0-3]):([0-5]\d)$/.exec(time);
	if (!match)
		return bad({ path: 'time', message: `Found '${time}', expected a time such as 10:05.` });
	return good(instantAt(day, Number(match[1]) * 60 + Number(match[2]), zone));
}

/** What a move would do, in words. */
export interface MoveView {
	readonly what: string;
	readonly from: string;
	readonly to: string;
	/** Why it can't be made; empty when it can. */
	readonly clashes: readonly string[];
	/** What becomes late or timely, and what setups come or go. */
	readonly follows: readonly string[];
	/** Slots that start elsewhere because of it. */
	readonly gaveWay: readonly string[];
	readonly cost: Consequence['cost'];
}

/** The consequence of a move, to be shown before it is made. */
export async function loadMove(
	db: Reader,
	now: InstantMs,
	week: IsoWeek,
	fields: MoveFields
): Promise<Outcome<MoveView>> {
	const worked = await workOutMove(db, now, week, fields);
	if (!worked.ok) return worked;
	const { found, standing, what, from, to } = worked.value;
	const said = consequenceWords(found, standing);
	return good({ what, from, to, ...said, cost: found.cost });
}

/** Clashes and what else follows, each a sentence that begins with the slot it is about. */
export function consequenceWords(
	{ clashes, gaveWay, late, setups, after }: Consequence,
	{ rows, names, problem }: Pick<WeekStanding, 'rows' | 'names' | 'problem'>
): Pick<MoveView, 'clashes' | 'follows' | 'gaveWay'> {
	const title = (i: number) => (rows[i] ? slotWords(rows[i], names) : slotWords(after[i]!, names));
	const at = (atMs: InstantMs) => momentShortWords(momentOf(atMs, problem.zone));
	return {
		clashes: clashes.map(({ index, text }) => `${title(index)} ${text}.`),
		gaveWay: gaveWay.map(
			(i) => `${title(i)}: ${at(rows[i]!.startAt)} becomes ${at(after[i]!.startMs)}`
		),
		follows: [
			...late.map(({ index, beforeMin, afterMin }) =>
				afterMin === 0
					? `${title(index)} is in time again; it was ${sayMinutes(beforeMin)} late.`
					: `${title(index)} ends ${sayMinutes(afterMin)} late${beforeMin > 0 ? ` instead of ${sayMinutes(beforeMin)}` : `; it was in time`}.`
			),
			...setups.map(({ index, change, setup }) =>
				change === 'added'
					? `${title(index)} needs ${setup.kind} of ${setup.minutes} min before it: ${setup.because}.`
					: `${title(index)} no longer needs ${setup.kind} of ${setup.minutes} min.`
			)
		]
	};
}
