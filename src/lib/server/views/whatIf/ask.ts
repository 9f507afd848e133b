import type { WhatIf } from '#lib/domain/plan/whatIf.ts';
import { formatKg } from '#lib/domain/quantity/mass.ts';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { Day, InstantMs, IsoWeek } from '#lib/domain/quantity/time.ts';
import {
	addDays,
	addWeeks,
	dayOf,
	daysBetween,
	isDay,
	minuteOfDay,
	weekOf
} from '#lib/domain/quantity/week.ts';
import type { Reader } from '../../db/client.ts';
import { loadLotEvents, loadLots, type Lot } from '../../store/lots.ts';
import { loadProducts, loadSlots, type Product } from '../../store/production.ts';
import { loadRoasters, requireSite, type Roaster } from '../../store/site.ts';
import { dayWords, weekdayWords } from '../words.ts';

/**
 * What a what-if asks, as it stands in an address and as it is typed. One text a change, the code last:
 * `orders +20% +0kg 1w HOUSE`, `stoppage 2026-11-26T08:00 2026-11-27T12:00 D15`, `arrival 2026-12-05 HR-160`,
 * `shift 2026-11-28 07:00-13:00 D15`, `profiling 2026-11-28 07:00-13:00`; orders without a code are of every
 * product.
 */

/** What codes and days are understood by. */
export interface Known {
	readonly week: IsoWeek;
	readonly today: Day;
	readonly zone: string;
	readonly products: readonly Product[];
	readonly roasters: readonly Roaster[];
	/** Lots that are still expected, by code. */
	readonly expected: readonly Lot[];
	/** By roaster id: when the batch that runs now ends, on the site's clock. */
	readonly busyUntil: ReadonlyMap<number, { readonly day: Day; readonly minute: number }>;
}

const MOST_PERCENT = 500;
const MOST_WEEKS = 12;
const MOST_DAYS_DOWN = 60;
const MOST_CHANGES = 20;

/** Everything that a change may name. */
export async function loadKnown(db: Reader, now: InstantMs, week: IsoWeek): Promise<Known> {
	const { timeZone } = await requireSite(db);
	const [products, roasters, lots, events, slots] = await Promise.all([
		loadProducts(db),
		loadRoasters(db),
		loadLots(db),
		loadLotEvents(db),
		loadSlots(db, week)
	]);
	const running = slots.filter(
		(slot) => slot.startAt < now && slot.endAt > now && slot.recordedAt === null
	);
	const isExpected = ({ id, expectedOn }: Lot) => {
		const { receivedAt, rejectedAt } = events.get(id)!;
		return expectedOn !== null && receivedAt === null && rejectedAt === null;
	};
	return {
		...{ week, today: dayOf(now, timeZone), zone: timeZone, products, roasters },
		expected: lots.filter(isExpected).sort((a, b) => (a.code < b.code ? -1 : 1)),
		busyUntil: new Map(
			running.map(({ roasterId, endAt }) => [
				roasterId,
				{ day: dayOf(endAt, timeZone), minute: minuteOfDay(endAt, timeZone) }
			])
		)
	};
}

/** The changes of an address, in their order; the problems name the text that can't be understood. */
export function readChanges(
	texts: readonly string[],
	known: Known
): { readonly changes: readonly WhatIf[]; readonly problems: readonly Problem[] } {
	const read = texts.map((text, i) => ({
		text,
		outcome:
			i < MOST_CHANGES
				? readChange(text, known)
				: bad({
						path: 'change',
						message: `It is left out: expected at most ${MOST_CHANGES} changes.`
					})
	}));
	return {
		changes: read.flatMap(({ outcome }) => (outcome.ok ? [outcome.value] : [])),
		problems: read.flatMap(({ text, outcome }) =>
			outcome.ok ? [] : outcome.problems.map(({ message }) => ({ path: text, message }))
		)
	};
}

function readChange(text: string, known: Known): Outcome<WhatIf> {
	const [kind, ...words] = text.split(' ');
	const code = (from: number) => words.slice(from).join(' ');
	switch (kind) {
		case 'orders':
			return orders(
				{
					percent: words[0]?.replace(/%$/, '') ?? '',
					kg: words[1]?.replace(/kg$/, '') ?? '',
					weeks: words[2]?.replace(/w$/, '') ?? '',
					product: code(3)
				},
				known
			);
		case 'stoppage':
			return stoppage({ from: words[0] ?? '', until: words[1] ?? '', roaster: code(2) }, known);
		case 'arrival':
			return arrival({ comes_on: words[0] ?? '', late_by: '', lot: code(1) }, known);
		case 'shift':
		case 'profiling': {
			const [start = '', end = ''] = (words[1] ?? '').split('-');
			return shift(
				{
					...{ day: words[0] ?? '', start: start, end: end },
					of: kind === 'profiling' ? PROFILING : code(2)
				},
				known
			);
		}
		default:
			return bad({ path: 'change', message: `There is no change '${kind}'.` });
	}
}

type Fields = Readonly<Record<string, string>>;

/** Stands in a form for somebody for profiling, in the place of a roaster's code. */
export const PROFILING = 'profiling';

/** The change that a form asks for; null where none is. The problems name the fields. */
export function typedChange(fields: Fields, known: Known): Outcome<WhatIf> | null {
	switch (fields['add']) {
		case 'orders':
			return orders(fields, known);
		case 'stoppage':
			return stoppage(fields, known);
		case 'arrival':
			return arrival(fields, known);
		case 'shift':
			return shift(fields, known);
		default:
			return null;
	}
}

function orders(fields: Fields, { products }: Known): Outcome<WhatIf> {
	const problems: Problem[] = [];
	const number = (name: string, usual: number, low: number, high: number) => {
		const typed = fields[name]?.trim() ?? '';
		const value = typed === '' ? usual : Number(typed);
		if (value >= low && value <= high) return value;
		problems.push({ path: name, message: `Found '${typed}', expected ${low} to ${high}.` });
		return usual;
	};
	const percent = number('percent', 0, -100, MOST_PERCENT);
	const addG = Math.round(number('kg', 0, 0, 100_000) * 1000);
	const weeks = number('weeks', 1, 1, MOST_WEEKS);
	const code = fields['product']?.trim() ?? '';
	const product = products.find((one) => one.code === code);
	if (code !== '' && !product)
		problems.push({ path: 'product', message: `There is no product ${code}.` });
	if (!Number.isInteger(percent))
		problems.push({ path: 'percent', message: 'Expected whole percent.' });
	if (!Number.isInteger(weeks)) problems.push({ path: 'weeks', message: 'Expected whole weeks.' });
	if (addG > 0 && code === '')
		problems.push({ path: 'product', message: 'Kilograms more are of one product; choose it.' });
	if (problems.length === 0 && percent === 0 && addG === 0)
		problems.push({ path: 'percent', message: 'Say how many percent or kilograms more.' });
	if (problems.length > 0) return bad(...problems);
	return good({ kind: 'orders', productId: product?.id ?? null, percent, addG, weeks });
}

function stoppage(fields: Fields, known: Known): Outcome<WhatIf> {
	const problems: Problem[] = [];
	const roaster = known.roasters.find(({ code }) => code === fields['roaster']);
	if (!roaster) problems.push({ path: 'roaster', message: 'Choose a roaster.' });
	const [typedFrom, to] = ['from', 'until'].map((name) => {
		const moment = momentOf(fields[name]?.trim() ?? '');
		if (moment) return moment;
		const message = `Found '${fields[name] ?? ''}', expected a day and time such as 2026-11-26T08:00.`;
		problems.push({ path: name, message });
		return null;
	});
	if (problems.length > 0 || !roaster || !typedFrom || !to) return bad(...problems);
	// A batch that runs ends as it would: the roaster stands after it.
	const busy = known.busyUntil.get(roaster.id);
	const from = busy && isBefore(typedFrom, busy) ? busy : typedFrom;
	if (!isBefore(from, to))
		return bad({ path: 'until', message: 'Expected an end after the start.' });
	if (to.day < known.today)
		return bad({ path: 'until', message: 'It is over; expected an end that is still ahead.' });
	if (daysBetween(from.day, to.day) > MOST_DAYS_DOWN)
		return bad({ path: 'until', message: `Expected at most ${MOST_DAYS_DOWN} days.` });
	return good({
		...{ kind: 'stoppage', roasterId: roaster.id },
		...{ fromDay: from.day, fromMin: from.minute, toDay: to.day, toMin: to.minute }
	});
}

interface ClockMoment {
	readonly day: Day;
	readonly minute: number;
}

function momentOf(text: string): ClockMoment | null {
	const [, day = '', time = ''] = /^(\d{4}-\d\d-\d\d)T(\d\d:\d\d)(?::00)?$/.exec(text) ?? [];
	const minute = minuteOf(time);
	return isDay(day) && minute !== null ? { day, minute } : null;
}

function isBefore(a: ClockMoment, b: ClockMoment): boolean {
	return a.day < b.day || (a.day === b.day && a.minute < b.minute);
}

function minuteOf(time: string): number | null {
	const [, hour, minute] = /^([01]\d|2[0-4]):([0-5]\d)$/.exec(time) ?? [];
	const minutes = Number(hour) * 60 + Number(minute);
	return minutes <= 24 * 60 ? minutes : null;
}

function arrival(fields: Fields, { expected, today }: Known): Outcome<WhatIf> {
	const lot = expected.find(({ code }) => code === fields['lot']);
	if (!lot)
		return bad({
			path: 'lot',
			message: `Found '${fields['lot'] ?? ''}', expected a lot that has not come yet.`
		});
	const [days, day] = [fields['late_by']?.trim() ?? '', fields['comes_on']?.trim() ?? ''];
	if (days !== '' && day !== '')
		return bad({ path: 'comes_on', message: 'Give the days or the new day, not both.' });
	if (days !== '' && !/^\d{1,3}$/.test(days))
		return bad({
			path: 'late_by',
			message: `Found '${days}', expected whole days from 1 to 999.`
		});
	const comes = days === '' ? day : addDays(lot.expectedOn!, Number(days));
	if (!isDay(comes))
		return bad({
			path: 'late_by',
			message: 'Say how many days late it is, or the day it comes.'
		});
	if (comes < today)
		return bad({
			path: days === '' ? 'comes_on' : 'late_by',
			message: `It would come on ${comes}, which has passed.`
		});
	if (comes === lot.expectedOn)
		return bad({ path: 'comes_on', message: `It is expected on ${comes} already.` });
	return good({ kind: 'arrival', lotId: lot.id, day: comes });
}

function shift(fields: Fields, { roasters, week }: Known): Outcome<WhatIf> {
	const problems: Problem[] = [];
	const who = fields['of'] ?? '';
	const roaster = roasters.find(({ code }) => code === who);
	if (!roaster && who !== PROFILING)
		problems.push({ path: 'of', message: 'Choose a roaster, or profiling.' });
	const day = fields['day']?.trim() ?? '';
	if (!isDay(day) || weekOf(day) !== week)
		problems.push({ path: 'day', message: `Found '${day}', expected a day of ${week}.` });
	const [startMin, endMin] = ['start', 'end'].map((name) => {
		const minute = minuteOf(fields[name]?.trim().slice(0, 5) ?? '');
		if (minute === null)
			problems.push({
				path: name,
				message: `Found '${fields[name] ?? ''}', expected a time such as 07:00.`
			});
		return minute;
	});
	if (problems.length === 0 && !(startMin! < endMin!))
		problems.push({
			path: 'end',
			message: 'Expected an end after the start, within one day.'
		});
	if (problems.length > 0) return bad(...problems);
	return good({
		...{ kind: 'shift', roasterId: roaster?.id ?? null, day },
		...{ startMin: startMin!, endMin: endMin! }
	});
}

/** A change as it stands in an address. */
export function changeText(change: WhatIf, known: Known): string {
	const roaster = (id: number | null) => known.roasters.find((one) => one.id === id)?.code ?? '';
	switch (change.kind) {
		case 'orders': {
			const product = known.products.find(({ id }) => id === change.productId)?.code ?? '';
			const sign = change.percent < 0 ? '' : '+';
			return `orders ${sign}${change.percent}% +${change.addG / 1000}kg ${change.weeks}w ${product}`.trim();
		}
		case 'stoppage': {
			const [from, to] = [clockText(change.fromMin), clockText(change.toMin)];
			return `stoppage ${change.fromDay}T${from} ${change.toDay}T${to} ${roaster(change.roasterId)}`;
		}
		case 'arrival': {
			const lot = known.expected.find(({ id }) => id === change.lotId)?.code ?? '';
			return `arrival ${change.day} ${lot}`;
		}
		case 'shift': {
			const hours = `${change.day} ${clockText(change.startMin)}-${clockText(change.endMin)}`;
			return change.roasterId === null
				? `profiling ${hours}`
				: `shift ${hours} ${roaster(change.roasterId)}`;
		}
	}
}

/** A change for a person: `Drum A stands still from Thu 26 Nov 08:00 to Fri 27 Nov 12:00`. */
export function changeWords(change: WhatIf, known: Known): string {
	const roaster = (id: number | null) =>
		known.roasters.find((one) => one.id === id)?.name ?? 'a roaster';
	switch (change.kind) {
		case 'orders':
			return orderWords(change, known);
		case 'stoppage': {
			const at = (day: Day, minute: number) => `${weekdayWords(day)} ${clockText(minute)}`;
			const { fromDay, fromMin, toDay, toMin } = change;
			return `${roaster(change.roasterId)} stands still from ${at(fromDay, fromMin)} to ${at(toDay, toMin)}`;
		}
		case 'arrival': {
			const lot = known.expected.find(({ id }) => id === change.lotId)!;
			const days = daysBetween(lot.expectedOn!, change.day);
			const by = `${Math.abs(days)} ${Math.abs(days) === 1 ? 'day' : 'days'} ${days > 0 ? 'later' : 'sooner'}`;
			return `${lot.code} arrives on ${dayWords(change.day)}, ${by} than expected`;
		}
		case 'shift': {
			const hours = `${weekdayWords(change.day)} ${clockText(change.startMin)} to ${clockText(change.endMin)}`;
			return change.roasterId === null
				? `somebody for profiling is there on ${hours}`
				: `an extra shift on ${roaster(change.roasterId)}, ${hours}`;
		}
	}
}

function orderWords(
	{ productId, percent, addG, weeks }: Extract<WhatIf, { kind: 'orders' }>,
	{ products, week }: Known
): string {
	const what = products.find(({ id }) => id === productId)?.name ?? 'every product';
	const share = percent === 0 ? '' : `${Math.abs(percent)} % ${percent > 0 ? 'more' : 'less'}`;
	const mass = addG === 0 ? '' : `${formatKg(addG)} more`;
	const last = weeks === 1 ? '' : ` to ${addWeeks(week, weeks - 1)}`;
	return `orders of ${[share, mass].filter(Boolean).join(' and ')} of ${what}, ${week}${last}`;
}

/** `07:05` of 425. */
export function clockText(minutes: number): string {
	const two = (n: number) => String(n).padStart(2, '0');
	return `${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}
