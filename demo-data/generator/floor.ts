import { addDays, weekdayOf } from '#lib/domain/quantity/week.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { dayOfStamp, mondayOfWeek, stamp, type Stamp } from './calendar.ts';
import { PEOPLE, productOf, ROASTERS, type RoasterCode, type Shade } from './cast.ts';
import { chanceFrom } from './chance.ts';
import type { BatchStory, LotStory } from './story.ts';

/** Times of day on the roasting floor: production in the morning, light before dark, tests after. */

export interface TimedBatch extends BatchStory {
	readonly at: Stamp;
	readonly by: string;
}

const TEST_FROM_MIN = 790;
const SHADE_ORDER: Readonly<Record<Shade, number>> = { light: 0, medium: 1, dark: 2 };

/** Gives every production batch its day and minute. */
export function timeBatches(batches: readonly BatchStory[]): TimedBatch[] {
	const timed: TimedBatch[] = [];
	for (const [key, day] of groupBy(
		spreadOverDays(batches),
		({ day, batch }) => `${day} ${batch.roaster}`
	)) {
		const roaster = key.slice(11) as RoasterCode;
		const spec = ROASTERS[roaster];
		const by = chanceFrom(`floor ${key}`).pick(PEOPLE.floor);
		const order = [...day].sort((a, b) => turnOf(a.batch) - turnOf(b.batch));
		let minute = spec.shiftStartMin + spec.warmUpMin;
		let kind: string | null = null;
		for (const { day: on, batch } of order) {
			if (kind !== null && kind !== separation(batch.lot)) minute += spec.cleaningMin;
			kind = separation(batch.lot);
			timed.push({ ...batch, at: stamp(on, minute), by });
			minute += spec.cycleMin;
		}
		if (minute > TEST_FROM_MIN) throw new Error(`${key} is full: ends at minute ${minute}`);
	}
	return timed.sort((a, b) =>
		a.at < b.at ? -1 : a.at > b.at ? 1 : a.roaster < b.roaster ? -1 : 1
	);
}

/** Certified coffee goes first, decaf last; between them light before dark. */
function turnOf(batch: BatchStory): number {
	const { shade } = productOf(batch.product);
	if (batch.lot.chain.organic) return -1;
	return batch.lot.kind === 'decaf' ? 9 : SHADE_ORDER[shade];
}

function separation(lot: LotStory): string {
	return lot.chain.organic ? 'organic' : lot.kind === 'decaf' ? 'decaf' : 'plain';
}

/** Shares a product's batches of a week over its days, in order. */
function spreadOverDays(batches: readonly BatchStory[]): { day: Day; batch: BatchStory }[] {
	const spread: { day: Day; batch: BatchStory }[] = [];
	for (const [, list] of groupBy(
		batches,
		({ week, product, lot }) => `${week} ${product} ${lot.key}`
	)) {
		const { weekdays } = productOf(list[0]?.product ?? '');
		list.forEach((batch, i) => {
			const weekday = weekdays[Math.floor((i * weekdays.length) / list.length)] ?? 1;
			spread.push({ day: addDays(mondayOfWeek(batch.week), weekday - 1), batch });
		});
	}
	return spread;
}

/** Gives every roasted test a minute in the afternoon of its day, one after another on a roaster. */
export function timeTests(lots: readonly LotStory[]): void {
	const taken = new Map<string, number>();
	for (const lot of lots)
		for (const test of lot.tests) {
			if (test.roast === null) continue;
			const day = dayOfStamp(test.roast.at);
			if (weekdayOf(day) > 5) throw new Error(`${lot.key} test ${test.number} is on a weekend`);
			const spec = ROASTERS[test.roaster];
			const key = `${day} ${test.roaster}`;
			const minute = taken.get(key) ?? TEST_FROM_MIN;
			if (minute + spec.cycleMin > spec.shiftEndMin)
				throw new Error(`no room for a test on ${key}`);
			taken.set(key, minute + spec.cycleMin + 5);
			test.roast = { ...test.roast, at: stamp(day, minute) };
		}
}

export function groupBy<T>(list: readonly T[], keyOf: (item: T) => string): Map<string, T[]> {
	const groups = new Map<string, T[]>();
	for (const item of list) {
		const key = keyOf(item);
		const group = groups.get(key);
		if (group === undefined) groups.set(key, [item]);
		else group.push(item);
	}
	return groups;
}
