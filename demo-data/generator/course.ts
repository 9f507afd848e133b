import type { Day } from '#lib/domain/quantity/time.ts';
import { addDays } from '#lib/domain/quantity/week.ts';
import { dayOfStamp, mondayOfWeek, stamp, WEEKS_BACK } from './calendar.ts';
import { CHAINS, PEOPLE, ROASTERS, type Chain, type OpenTo, type RoasterCode } from './cast.ts';
import { chanceFrom, type Chance } from './chance.ts';
import { bornLot, livedLot, programmeCount, retest, type LotLife } from './life.ts';
import type { BatchStory, LotStory, MovementStory } from './story.ts';
import type { Reached } from './timeline.ts';

/**
 * The course of the business: in every place of the blends one lot after another is roasted from until
 * it is used up, the next having been released before; the last one is on its way.
 */

export interface Course {
	readonly lots: readonly LotStory[];
	readonly batches: readonly BatchStory[];
	/** From which week on a lot fills its chain's places. */
	readonly turns: readonly { readonly week: number; readonly lot: LotStory }[];
}

type Demand = ReadonlyMap<string, readonly number[]>;

/** A chain being worked through week by week. */
interface Run {
	readonly chain: Chain;
	readonly demand: Demand;
	readonly chance: Chance;
	/** Roasted grams still owed to each place. */
	readonly owedG: Map<string, number>;
	readonly batches: BatchStory[];
	week: number;
}

export function runCourse(demand: Demand): Course {
	const lots: LotStory[] = [];
	const batches: BatchStory[] = [];
	const turns: { week: number; lot: LotStory }[] = [];
	for (const chain of CHAINS) {
		const run: Run = {
			chain,
			demand,
			chance: chanceFrom(`chain ${chain.id}`),
			owedG: new Map(),
			batches,
			week: 0
		};
		const ends = plannedEnds(chain, run.chance);
		let before: LotStory | null = null;
		for (let i = 0; i < chain.lots; i++) {
			const life: LotLife = startLot(run, i, before, ends[i] ?? WEEKS_BACK);
			turns.push({ week: run.week, lot: life.lot });
			roastThrough(run, life, i === chain.lots - 1);
			lots.push(life.lot);
			before = life.lot;
		}
		if (before === null) throw new Error(`chain ${chain.id} has no lots`);
		lots.push(openLot(chain, before, run.chance));
		if (chain.id === 'L') lots.push(rejectedLot(chain, lots, run.chance));
	}
	return { lots, batches, turns };
}

/** The week in which each lot of a chain should run out; the last one's is after the anchor. */
function plannedEnds(chain: Chain, chance: Chance): number[] {
	const weights = Array.from({ length: chain.lots }, () => chance.between(0.8, 1.25));
	weights[chain.lots - 1] = chance.between(0.45, 0.8);
	const total = weights.reduce((sum, weight) => sum + weight, 0);
	let passed = 0;
	return weights.map((weight) => {
		passed += weight;
		return Math.round((WEEKS_BACK * passed) / total);
	});
}

/** Green grams that all places of the chain need in a week at a weight loss. */
function weeklyGreenG(run: Run, week: number, loss: number): number {
	return run.chain.places.reduce(
		(sum, place) => sum + placeRoastedG(run, place.product, week) / (1 - loss),
		0
	);
}

function placeRoastedG(run: Run, product: string, week: number): number {
	const place = run.chain.places.find((candidate) => candidate.product === product);
	const weeks = run.demand.get(product) ?? [];
	const kg = weeks[Math.min(week, weeks.length - 1)] ?? 0;
	return (kg * 1000 * (place?.sharePct ?? 0)) / 100;
}

/** A lot that is released in time for `run.week`, bought large enough to last until `endWeek`. */
function startLot(run: Run, index: number, before: LotStory | null, endWeek: number): LotLife {
	const { chain, chance } = run;
	const key = `${chain.id}${index + 1}`;
	const count = programmeCount(chain, index, run.week, chance);
	const born = bornLot(chain, index, key);
	const releaseDay = addDays(mondayOfWeek(run.week), -chance.whole(3, 13));
	const reached: Reached = {
		sampled: true,
		received: true,
		roasted: count,
		last: 'judged',
		queued: false,
		released: true
	};
	const life = livedLot(born, before, releaseDay, reached, count, chance);
	const last = index === chain.lots - 1;
	let needG = 0;
	for (let week = run.week; week < (last ? WEEKS_BACK : endWeek); week++)
		needG += weeklyGreenG(run, week, life.weightLoss);
	if (last) needG += coverG(run, life.weightLoss);
	if (key === REOPENED) needG += 2 * ROASTERS[chain.roaster].testChargeKg * 1000;
	const bags = Math.max(2, Math.ceil((needG + life.usedG) / (chain.bagKg * 1000)));
	life.receive(last ? bags : Math.max(2, Math.round((needG + life.usedG) / (chain.bagKg * 1000))));
	if (last) trimStock(run, life, needG);
	return life;
}

function coverG(run: Run, loss: number): number {
	let sum = 0;
	let left = run.chain.coverWeeks;
	for (let week = WEEKS_BACK; left > 0; week++) {
		sum += weeklyGreenG(run, week, loss) * Math.min(1, left);
		left -= 1;
	}
	return sum;
}

/** Sells green what whole bags brought above the wanted stock, where it would blur the cover. */
function trimStock(run: Run, life: LotLife, needG: number): void {
	const overG = life.onHandG() - needG;
	if (overG < 0.25 * weeklyGreenG(run, WEEKS_BACK, life.weightLoss)) return;
	const massG = Math.floor(overG / 500) * 500;
	life.move({
		at: stamp(addDays(mondayOfWeek(WEEKS_BACK), -10 - run.chance.whole(0, 2) * 7), 960),
		kind: 'sold green',
		massG: -massG,
		reason: 'Sold green to a neighbouring roastery',
		by: PEOPLE.operations
	});
}

const REOPENED = 'H3';
const REOPENED_AFTER_WEEKS = 5;

/** Roasts from a lot week by week until it is used up, or until the anchor. */
function roastThrough(run: Run, life: LotLife, last: boolean): void {
	const startWeek = run.week;
	const countWeek = startWeek + run.chance.whole(3, 7);
	while (run.week < WEEKS_BACK) {
		const week = run.week;
		if (life.lot.key === REOPENED && week === startWeek + REOPENED_AFTER_WEEKS) {
			produceWeek(run, life, week);
			retest(life, week, run.chance.branch('retest'));
			owe(run, week + 1);
			run.week += 2;
			continue;
		}
		produceWeek(run, life, week);
		if (week === countWeek) countStock(run, life, week);
		run.week += 1;
		if (last) continue;
		const nextG = weeklyGreenG(run, run.week, life.weightLoss);
		if (life.onHandG() < 0.4 * nextG || life.onHandG() < 5000) {
			finishLot(run, life, week);
			return;
		}
	}
	if (!last) throw new Error(`${life.lot.key} was to be used up before the anchor`);
}

/** Adds a week's orders to what is owed without roasting. */
function owe(run: Run, week: number): void {
	for (const { product } of run.chain.places)
		run.owedG.set(product, (run.owedG.get(product) ?? 0) + placeRoastedG(run, product, week));
}

function produceWeek(run: Run, life: LotLife, week: number): void {
	owe(run, week);
	const spec = ROASTERS[run.chain.roaster];
	for (const { product } of run.chain.places) {
		const greenG = (run.owedG.get(product) ?? 0) / (1 - life.weightLoss);
		const wantedG = Math.min(greenG, life.onHandG());
		const count = Math.max(1, Math.round(wantedG / (spec.usualChargeKg * 1000)));
		const fits = Math.min(spec.maxChargeKg * 1000, wantedG / count);
		const chargeG = Math.floor(fits / 100) * 100;
		if (chargeG < spec.minChargeKg * 1000) continue;
		for (let i = 0; i < count; i++)
			roastBatch(run, life, product, run.chain.roaster, week, chargeG);
	}
}

function roastBatch(
	run: Run,
	life: LotLife,
	product: string,
	roaster: RoasterCode,
	week: number,
	chargeG: number
): void {
	const loss = life.weightLoss + run.chance.tame(0, 0.003);
	const outG = Math.round((chargeG * (1 - loss)) / 50) * 50;
	life.takeG(chargeG);
	run.owedG.set(product, (run.owedG.get(product) ?? 0) - outG);
	run.batches.push({ lot: life.lot, product, roaster, week, chargeG, outG });
}

/** The last of a lot: a batch or two on the small roaster, and the rest counted off. */
function finishLot(run: Run, life: LotLife, week: number): void {
	const first = run.chain.places[0]?.product ?? '';
	const small = ROASTERS.D15;
	for (let leftG = life.onHandG(); leftG >= small.minChargeKg * 1000; leftG = life.onHandG()) {
		const count = Math.ceil(leftG / (small.maxChargeKg * 1000));
		const chargeG = Math.floor(leftG / count / 100) * 100;
		roastBatch(run, life, first, 'D15', week, chargeG);
	}
	const leftG = life.onHandG();
	if (leftG === 0) return;
	const at = stamp(addDays(mondayOfWeek(week), 4), 985);
	const rest: Omit<MovementStory, 'at' | 'massG' | 'by'> =
		leftG > 1500
			? { kind: 'sold green', reason: 'Last of the lot sold green over the counter' }
			: { kind: 'count difference', reason: 'Bags empty: the scale says less than the ledger' };
	life.move({ ...rest, at, massG: -leftG, by: PEOPLE.warehouse });
}

const WRITTEN_OFF: Readonly<Record<string, readonly [grams: number, reason: string]>> = {
	A2: [18_500, 'Bag wetted under the loading door'],
	C3: [6400, 'Torn bag, swept up'],
	K2: [4200, 'Torn bag, swept up']
};

/** A stock count in the middle of a lot's life: now and then a difference, three times a write-off. */
function countStock(run: Run, life: LotLife, week: number): void {
	const at = stamp(addDays(mondayOfWeek(week), 4), 975);
	const lost = WRITTEN_OFF[life.lot.key];
	if (lost !== undefined && life.onHandG() > 3 * lost[0])
		life.move({ at, kind: 'written off', massG: -lost[0], reason: lost[1], by: PEOPLE.warehouse });
	else if (run.chance.happens(0.3) && life.onHandG() > 20_000) {
		const massG = Math.round(run.chance.tame(-350, 500)) || -120;
		life.move({
			at,
			kind: 'count difference',
			massG,
			reason: 'Quarter count',
			by: PEOPLE.warehouse
		});
	}
}

const REACHED: Readonly<Record<OpenTo, Reached>> = {
	expected: reached(false, false, 0, 'judged', false),
	arrived: reached(true, false, 0, 'judged', false),
	'sample roasted': reached(true, true, 0, 'judged', false),
	'queued for test': reached(true, true, 0, 'judged', true),
	'adjusted once': reached(true, true, 1, 'judged', true),
	'adjusted twice': reached(true, true, 2, 'judged', true),
	cupped: reached(true, true, 2, 'cupped', false),
	approved: reached(true, true, 2, 'judged', false)
};

function reached(
	received: boolean,
	sampled: boolean,
	roasted: number,
	last: Reached['last'],
	queued: boolean
): Reached {
	return { received, sampled, roasted, last, queued, released: false };
}

/** The lot that is to follow the present one, as far as it has come. */
function openLot(chain: Chain, before: LotStory, chance: Chance): LotStory {
	const state = REACHED[chain.next];
	const lastDay: Day = addDays(mondayOfWeek(WEEKS_BACK), -chance.whole(3, 6));
	const born = bornLot(chain, chain.lots, `${chain.id}${chain.lots + 1}`);
	const count = state.roasted + (chain.next === 'approved' ? 0 : 1);
	const life = livedLot(born, before, lastDay, state, Math.max(1, count), chance);
	// The team has just given its first verdict: what to roast next is still open.
	if (chain.next === 'adjusted once') life.lot.tests.splice(state.roasted);
	const weekly = chain.places.reduce((sum, place) => sum + place.sharePct, 0);
	const bags = Math.max(3, Math.round((OPEN_LOT_KG[chain.id] ?? weekly * 10) / chain.bagKg));
	life.receive(bags);
	if (chain.id === 'K') life.lot.neededOn = addDays(mondayOfWeek(WEEKS_BACK), 7 * 9 - 3);
	if (chain.id === 'F' && life.lot.receivedAt !== null) {
		life.lot.expectedOn = addDays(dayOfStamp(life.lot.receivedAt), -24);
		life.lot.note = 'Ship more than three weeks late';
	}
	return life.lot;
}

/** What was bought of the lots that are on their way, kg. */
const OPEN_LOT_KG: Readonly<Record<string, number>> = {
	A: 4200,
	B: 2520,
	C: 1380,
	D: 1980,
	E: 1242,
	F: 805,
	G: 780,
	H: 660,
	I: 360,
	J: 540,
	K: 828,
	L: 390
};

/** A guest lot that two tests could not save. */
function rejectedLot(chain: Chain, lots: readonly LotStory[], chance: Chance): LotStory {
	const before = lots.find((lot) => lot.key === 'L3');
	const instead = lots.find((lot) => lot.key === 'L4');
	if (before === undefined || !instead?.receivedAt) throw new Error('chain L is too short');
	const lastDay = addDays(dayOfStamp(instead.receivedAt), -5);
	const born = bornLot(chain, 4, 'L-rejected');
	const state = reached(true, true, 2, 'judged', false);
	const life = livedLot(born, before, lastDay, state, 3, chance, 'reject');
	life.receive(6);
	const judged = life.lot.tests[1]?.verdict?.at ?? '';
	life.lot.turns.push({
		at: stamp(dayOfStamp(judged), 965),
		turn: 'rejected',
		by: PEOPLE.operations,
		reason: 'Phenolic cups in both tests; claim sent to the supplier'
	});
	life.move({
		at: stamp(addDays(dayOfStamp(judged), 7), 680),
		kind: 'sold green',
		massG: -life.onHandG(),
		reason: 'Taken back by the supplier',
		by: PEOPLE.warehouse
	});
	return life.lot;
}
