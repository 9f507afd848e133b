import type { Day } from '#lib/domain/quantity/time.ts';
import { addDays, daysBetween } from '#lib/domain/quantity/week.ts';
import { drawBean, type BeanParams } from './bean.ts';
import {
	ANCHOR,
	dayOfStamp,
	mondayOfWeek,
	stamp,
	WEEKS_BACK,
	workdaysAfter,
	type Stamp
} from './calendar.ts';
import { PEOPLE, productOf, type Chain, type Origin } from './cast.ts';
import { chanceFrom, type Chance } from './chance.ts';
import {
	cup,
	cuppingDay,
	programmeOf,
	recoveriesOf,
	verdictReason,
	type PlannedTest,
	type Programme
} from './programme.ts';
import { simulateSample, type FanStep, type ProfileName } from './simulate.ts';
import type { LotStory, MeasurementStory, MovementStory, SampleStory, TestStory } from './story.ts';
import { lifeUntil, type LifeDays, type Reached, type TestDays } from './timeline.ts';

/** One lot's life as far as it has come: arrival, measurements, sample, tests, release. */

/** A lot that can still be moved by what happens to it. */
export interface LotLife {
	readonly lot: LotStory;
	readonly weightLoss: number;
	/** Green grams that sample and tests take. */
	readonly usedG: number;
	readonly onHandG: () => number;
	readonly takeG: (grams: number) => void;
	readonly move: (movement: MovementStory) => void;
	/** Says how many bags were bought, and weighs them in where the lot has arrived. */
	readonly receive: (bags: number) => void;
	readonly extend: (count: number) => Programme;
}

export interface BornLot {
	readonly key: string;
	readonly chain: Chain;
	readonly kind: LotStory['kind'];
	readonly origin: Origin;
	readonly bean: BeanParams;
	readonly product: string;
	/** What the panel would give it when it is roasted well. */
	readonly quality: number;
}

/** What a lot is before anything has happened to it. */
export function bornLot(chain: Chain, index: number, key: string): BornLot {
	const kind = chain.kinds[index % chain.kinds.length];
	const origin = chain.origins[index % chain.origins.length];
	const place = chain.places[0];
	if (kind === undefined || origin === undefined || place === undefined)
		throw new Error(`chain ${chain.id} is empty`);
	const chance = chanceFrom(`lot ${key}`);
	const fine = productOf(place.product).shade === 'light' ? 86.4 : 84.2;
	return {
		key,
		chain,
		kind,
		origin,
		bean: drawBean(kind, chance.branch('bean')),
		product: place.product,
		quality: chance.branch('quality').tame(fine, 1)
	};
}

const HARD: Readonly<Record<LotStory['kind'], number>> = {
	washed: 0.75,
	natural: 1.05,
	honey: 0.9,
	decaf: 1.3,
	'old crop': 0.7,
	anaerobic: 1.5
};

/** How many tests a lot will need: more for hard kinds, fewer as the team learns. */
export function programmeCount(chain: Chain, index: number, week: number, chance: Chance): number {
	if (chain.id === 'I' && index === 1) return 8;
	const kind = chain.kinds[index % chain.kinds.length] ?? 'washed';
	const mean = HARD[kind] * (2.1 - (1.1 * week) / WEEKS_BACK);
	let count = 1;
	for (let left = chance.unit(), p = Math.exp(-mean); left > p && count < 8; count++) {
		left -= p;
		p = (p * mean) / count;
	}
	return count;
}

/**
 * Lives a lot's life until `lastDay`, as far as `reached` says. `count` tests are planned for it, of
 * which the last is good; only those that were reached are recorded.
 */
export function livedLot(
	born: BornLot,
	before: LotStory | null,
	lastDay: Day,
	reached: Reached,
	count: number,
	chance: Chance,
	lastVerdict: 'as found' | 'reject' = 'as found'
): LotLife {
	const { chain, key, bean, kind } = born;
	const days = lifeUntil(lastDay, reached, chance.branch(`days ${key}`));
	const programme = programmeOf(
		{ kind, bean, roaster: chain.roaster, product: born.product },
		count,
		`lot ${key}`,
		chance.branch(`programme ${key}`)
	);
	const lot = emptyStory(born, before, days);
	measure(lot, days, chance.branch(`measure ${key}`));
	sampleRoasts(lot, days, chance.branch(`sample ${key}`));
	days.tests.forEach((test, i) =>
		lot.tests.push(lived(born, programme, test, i, lastVerdict, chance.branch(`${key}/${i}`)))
	);
	if (days.released !== null) releaseWith(lot, lot.tests.length, days.released);
	return lifeOf(lot, programme, born, days);
}

function lifeOf(lot: LotStory, programme: Programme, born: BornLot, days: LifeDays): LotLife {
	let producedG = 0;
	const usedG = (): number => usedInTests(lot) + usedInSamples(lot);
	const receive = (bags: number): void => {
		lot.bags = bags;
		if (days.received === null) return;
		const chance = chanceFrom(`weigh ${lot.key}`);
		const billedG = bags * lot.chain.bagKg * 1000;
		lot.receivedG = Math.round((billedG * (1 - chance.between(0.0005, 0.006))) / 100) * 100;
		lot.receivedAt = stamp(days.received, 565);
		lot.movements.push({
			at: lot.receivedAt,
			kind: 'received',
			massG: lot.receivedG,
			reason: `${bags} bags weighed in`,
			by: PEOPLE.warehouse
		});
	};
	return {
		lot,
		weightLoss: programme.weightLoss,
		usedG: usedG(),
		onHandG: () => lot.movements.reduce((sum, move) => sum + move.massG, 0) - usedG() - producedG,
		takeG: (grams) => {
			producedG += grams;
		},
		move: (movement) => {
			lot.movements.push(movement);
		},
		receive,
		extend: (count) =>
			programmeOf(
				{
					kind: lot.kind,
					bean: { ...born.bean, x0: born.bean.x0 - 0.009, exotherm: born.bean.exotherm * 1.03 },
					roaster: lot.chain.roaster,
					product: born.product
				},
				count,
				`lot ${lot.key}/again`,
				chanceFrom(`programme ${lot.key}/again`)
			)
	};
}

function usedInTests(lot: LotStory): number {
	return lot.tests.reduce((sum, { roast, settings }) => sum + (roast ? settings.chargeG : 0), 0);
}

function usedInSamples(lot: LotStory): number {
	return lot.samples.reduce(
		(sum, { stage, roast }) => sum + (stage === 'arrival' ? roast.chargeG : 0),
		0
	);
}

function emptyStory(born: BornLot, before: LotStory | null, days: LifeDays): LotStory {
	const { chain, origin } = born;
	const year = Number(days.created.slice(0, 4));
	return {
		key: born.key,
		chain,
		kind: born.kind,
		name: `${origin.name} ${born.kind === 'old crop' ? year - 2 : year}`,
		country: origin.country,
		producer: origin.producer,
		variety: origin.variety,
		bean: born.bean,
		replaces: before,
		createdAt: stamp(days.created, 640),
		expectedOn: days.expected,
		bags: 0,
		neededOn: null,
		note: '',
		receivedAt: null,
		receivedG: 0,
		movements: [],
		measurements: [],
		samples: [],
		tests: [],
		releases: [],
		turns: []
	};
}

function measure(lot: LotStory, days: LifeDays, chance: Chance): void {
	const moisture = (100 * lot.bean.x0) / (1 + lot.bean.x0);
	const at = (stage: MeasurementStory['stage'], when: Stamp, drift: number): void => {
		lot.measurements.push({
			stage,
			at: when,
			moisturePct: moisture + drift + chance.tame(0, 0.12),
			waterActivity: 0.5 + 0.06 * (moisture - 9.5) * 0.5 + chance.tame(0, 0.012),
			densityGL: 620 + 60 * (lot.bean.diameterMm - 5.2) + chance.tame(0, 8),
			screen16UpPct: Math.min(97, 45 + 28 * (lot.bean.diameterMm - 5.2) + chance.tame(0, 5)),
			defectsPer300G: lot.kind === 'old crop' ? chance.whole(4, 22) : chance.whole(0, 9),
			by: PEOPLE.sampleRoaster
		});
	};
	if (hasPreShipment(lot)) at('pre-shipment', stamp(shipmentDay(days), 700), 0.25);
	if (days.received !== null) at('arrival', stamp(days.received, 690), 0);
}

/** Some lots sent a sample before they were shipped; so did every lot that is still expected. */
function hasPreShipment(lot: LotStory): boolean {
	return chanceFrom(`pre-shipment ${lot.key}`).happens(0.2) || lot.expectedOn > ANCHOR;
}

function shipmentDay(days: LifeDays): Day {
	return workdaysAfter(days.created, 8);
}

/** The humidity sensor of the sample roaster was replaced once. */
function sensorLag(day: Day): number {
	return day < addDays(ANCHOR, -260) ? 11.2 : 7.6;
}

function sampleRoasts(lot: LotStory, days: LifeDays, chance: Chance): void {
	if (hasPreShipment(lot))
		lot.samples.push(sampleOf(lot, 'pre-shipment', shipmentDay(days), chance.branch('pre')));
	if (days.sampled !== null)
		lot.samples.push(sampleOf(lot, 'arrival', days.sampled, chance.branch('arrival')));
}

const DIALECT_STEPS_S = [0.5, 1, 1, 1, 1, 0.5] as const;

function sampleOf(
	lot: LotStory,
	stage: SampleStory['stage'],
	day: Day,
	chance: Chance
): SampleStory {
	const dialect = chance.pick([0, 0, 0, 1, 1, 2, 3, 3, 4, 5]);
	const profile: ProfileName = chance.pick([
		'usual',
		'usual',
		'usual',
		'usual',
		'hotter',
		'cooler'
	]);
	const roll = chance.unit();
	const fan = roll < 0.82 ? 'steady' : roll < 0.95 ? 'step logged' : 'step not logged';
	const steps: FanStep[] =
		fan === 'steady'
			? []
			: [{ atS: chance.whole(250, 330), factor: chance.pick([0.9, 1.08, 1.15]) }];
	const noise = chance.unit();
	const roast = simulateSample({
		kind: lot.kind,
		seed: `lot ${lot.key}/${stage}`,
		params: stage === 'arrival' ? lot.bean : { ...lot.bean, x0: lot.bean.x0 + 0.003 },
		profile,
		lagS: sensorLag(day),
		noiseRhPct: noise < 0.8 ? 0.1 : noise < 0.94 ? 0.18 : 0.42,
		offsetRhPct: chance.tame(0, 0.6),
		stepS: DIALECT_STEPS_S[dialect] ?? 1,
		airFlowGS: 4,
		pressurePa: 100_845,
		roomHumidityGKg: chance.tame(8, 1),
		fanSteps: steps,
		fanLogged: fan !== 'step not logged'
	});
	return {
		stage,
		at: stamp(day, 635),
		by: PEOPLE.sampleRoaster,
		roast,
		dialect,
		fan,
		sensorLagKnown: chance.happens(0.8),
		earCrackS: chance.happens(0.75) ? roast.earCrackS : null,
		note: profile === 'usual' ? '' : `${profile === 'hotter' ? 'Hotter' : 'Cooler'} profile`
	};
}

/** A test as far as its days go. */
function lived(
	born: BornLot,
	programme: Programme,
	days: TestDays,
	index: number,
	lastVerdict: 'as found' | 'reject',
	chance: Chance
): TestStory {
	const planned = programme.tests[index];
	const approved = programme.tests[programme.tests.length - 1];
	if (planned === undefined || approved === undefined)
		throw new Error(`${born.key} has more test days than tests`);
	const test: TestStory = {
		number: index + 1,
		plannedAt: stamp(days.planned, 925),
		purpose: planned.purpose,
		change: planned.change,
		roaster: programme.roaster,
		settings: planned.settings,
		roast: null,
		cupping: null,
		verdict: null,
		recoveries: []
	};
	if (days.roasted === null) return test;
	test.roast = {
		at: stamp(days.roasted, 0),
		by: PEOPLE.roastingLead,
		outG: Math.round(planned.roast.outG / 10) * 10,
		log: planned.roast.log,
		note: ''
	};
	const reject = lastVerdict === 'reject';
	if (days.cupped !== null) cupTest(born, test, planned, days.cupped, reject, chance);
	if (days.judged !== null)
		judgeTest(born, test, planned, approved, days.judged, reject && index === 1, chance);
	return test;
}

function cupTest(
	born: BornLot,
	test: TestStory,
	planned: PlannedTest,
	day: Day,
	faulty: boolean,
	chance: Chance
): void {
	const form = daysBetween(day, ANCHOR) > 300 ? '2004' : '2024';
	test.cupping = cup(planned, born, stamp(day, 615 + chance.whole(0, 40)), form, chance, faulty);
}

function judgeTest(
	born: BornLot,
	test: TestStory,
	planned: PlannedTest,
	approved: PlannedTest,
	day: Day,
	reject: boolean,
	chance: Chance
): void {
	const verdict = reject ? 'reject' : planned.flawsLeft === 0 ? 'approve' : 'adjust';
	test.verdict = {
		at: stamp(day, 850 + chance.whole(0, 30)),
		verdict,
		reason: verdictReason(planned, approved, verdict)
	};
	if (workdaysAfter(day, 2) < ANCHOR)
		test.recoveries = recoveriesOf(planned, born.product, day, chance);
}

function releaseWith(lot: LotStory, testNumber: number, day: Day): void {
	const test = lot.tests.find(({ number }) => number === testNumber);
	if (test === undefined) throw new Error(`${lot.key} has no test ${testNumber}`);
	lot.releases.push({
		at: stamp(day, 950),
		test: testNumber,
		descriptors: test.cupping?.descriptors ?? '',
		pricePerKg: productOf(lot.chain.places[0]?.product ?? '').pricePerKg
	});
}

/** A released lot stops working in `week`, is tested twice more and released again the week after. */
export function retest(life: LotLife, week: number, chance: Chance): void {
	const { lot } = life;
	const wednesday = addDays(mondayOfWeek(week), 2);
	lot.turns.push({
		at: stamp(wednesday, 900),
		turn: 'reopened',
		by: PEOPLE.roastingLead,
		reason: 'Batches of the last fortnight run away after the crack; the green has dried'
	});
	const programme = life.extend(2);
	const born: BornLot = { ...bornLot(lot.chain, 0, lot.key), kind: lot.kind, quality: 86 };
	const roastDays = [addDays(wednesday, 1), addDays(wednesday, 6)];
	roastDays.forEach((roasted, i) => {
		const cupped = cuppingDay(roasted, chance);
		const planned = i === 0 ? wednesday : (dayOfStamp(lot.tests.at(-1)?.verdict?.at ?? '') as Day);
		const days: TestDays = { planned, roasted, cupped, judged: cupped };
		const test = lived(born, programme, days, i, 'as found', chance.branch(i));
		lot.tests.push({ ...test, number: lot.tests.length + 1 });
	});
	const judged = lot.tests.at(-1)?.verdict?.at;
	if (judged === undefined) throw new Error(`${lot.key} has no verdict to release on`);
	releaseWith(lot, lot.tests.length, dayOfStamp(judged));
}
