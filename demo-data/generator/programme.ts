import type { LotKind, Verdict } from '#lib/domain/lot/lot.ts';
import { addDays, weekdayOf } from '#lib/domain/quantity/week.ts';
import type { BeanParams } from './bean.ts';
import { minutesSeconds, stamp, workdaysAfter, type Stamp } from './calendar.ts';
import { DESCRIPTORS, PEOPLE, productOf, ROASTERS, type RoasterCode, type Shade } from './cast.ts';
import type { Chance } from './chance.ts';
import {
	DRUM_15,
	DRUM_60,
	gasStepsFor,
	simulateDrum,
	usualGoal,
	type DropRule,
	type DrumRoast,
	type DrumRoaster,
	type DrumSettings
} from './drum.ts';
import type { CuppingStory, RecoveryStory } from './story.ts';

/**
 * A lot's test batches. The first is wrong in so many ways; each test mends one of them, and says
 * which; the last has none left and is approved.
 */

export const DRUMS: Readonly<Record<RoasterCode, DrumRoaster>> = { D15: DRUM_15, D60: DRUM_60 };

export const DROP: Readonly<Record<Shade, DropRule>> = {
	light: { afterCrackS: 84, atMostC: 212 },
	medium: { afterCrackS: 105, atMostC: 216 },
	dark: { afterCrackS: 138, atMostC: 222 }
};

/** One thing that is wrong with the settings, how it shows in the cup, and how mending it is called. */
interface Flaw {
	readonly apply: (settings: DrumSettings) => DrumSettings;
	readonly mending: string;
	readonly purpose: string;
	readonly cup: string;
}

function gasFlaw(from: number, to: number, points: number, where: string, what: string): Flaw {
	const high = points > 0;
	const size = Math.abs(points);
	return {
		apply: (settings) => ({
			...settings,
			gasSteps: settings.gasSteps.map((step, i) =>
				i >= from && i <= to
					? { ...step, pct: Math.max(8, Math.min(100, step.pct + points)) }
					: step
			)
		}),
		mending: `Gas ${where} ${high ? 'down' : 'up'} ${size} points`,
		purpose: what,
		cup: high ? 'sharp, roasty edge' : 'flat, bready finish'
	};
}

/** A flaw; most of a lot's flaws lean the same way, and the more there are the smaller each is. */
function drawFlaw(leansHigh: boolean, size: number, chance: Chance): Flaw {
	const high = chance.happens(0.85) === leansHigh;
	// Too little heat late in the roast slows it far more than as much too much hurries it.
	const sign = high ? size : -0.65 * size;
	const roll = chance.unit();
	if (roll < 0.34)
		return gasFlaw(
			5,
			6,
			Math.round(sign * chance.between(11, 19)),
			'after 7:50',
			'Settle the end of the roast'
		);
	if (roll < 0.62)
		return gasFlaw(
			1,
			3,
			Math.round(sign * chance.between(6, 11)),
			'from 2:00 to 6:20',
			'Settle the middle'
		);
	if (roll < 0.78) {
		const by = Math.round(size * chance.between(8, 14));
		return {
			apply: (settings) => ({ ...settings, startC: settings.startC + (high ? by : -by) }),
			mending: `Start ${by} C ${high ? 'lower' : 'higher'}`,
			purpose: 'Find the start temperature',
			cup: high ? 'scorched note' : 'grassy, thin'
		};
	}
	if (roll < 0.9)
		return {
			apply: (settings) => ({ ...settings, soakS: settings.soakS + (high ? -15 : 35) }),
			mending: high ? 'Soak 15 s longer' : 'Soak 35 s shorter',
			purpose: 'Find the soak',
			cup: high ? 'uneven, astringent' : 'muted, short'
		};
	return {
		apply: (settings) => ({
			...settings,
			airSteps: settings.airSteps.map((step, i) =>
				i === 0 ? step : { ...step, pct: step.pct - 9 }
			)
		}),
		mending: 'Air after 5:00 up 9 points',
		purpose: 'Clear the smoke',
		cup: 'smoky, dull'
	};
}

export interface PlannedTest {
	readonly settings: DrumSettings;
	readonly purpose: string;
	readonly change: string;
	readonly roast: DrumRoast;
	readonly flawsLeft: number;
	/** How its faults show in the cup; empty for the last. */
	readonly cup: string;
}

export interface Programme {
	readonly roaster: RoasterCode;
	readonly tests: readonly PlannedTest[];
	/** Share of the charge that the approved roast loses. */
	readonly weightLoss: number;
}

/** Plans and roasts the tests of a lot; the last of `count` is the one to approve. */
export function programmeOf(
	lot: { kind: LotKind; bean: BeanParams; roaster: RoasterCode; product: string },
	count: number,
	seed: string,
	chance: Chance
): Programme {
	const spec = ROASTERS[lot.roaster];
	const base = {
		chargeG: (spec.testChargeKg + chance.whole(-1, 1)) * 1000,
		startC: chance.whole(190, 200),
		soakS: 45,
		airSteps: [
			{ atS: 0, pct: 55 },
			{ atS: 300, pct: 65 }
		],
		drumRpm: lot.roaster === 'D15' ? 54 : 46
	};
	const drum = DRUMS[lot.roaster];
	const good: DrumSettings = {
		...base,
		gasSteps: gasStepsFor(lot.bean, drum, base, usualGoal(lot.bean))
	};
	const leansHigh = chance.happens(0.5);
	const size = Math.min(1, Math.sqrt(3 / count));
	const flaws = Array.from({ length: count - 1 }, () => drawFlaw(leansHigh, size, chance));
	const drop = DROP[productOf(lot.product).shade];
	const tests = Array.from({ length: count }, (_, k): PlannedTest => {
		const left = flaws.slice(k);
		const mended = flaws[k - 1];
		const settings = left.reduce((now, flaw) => flaw.apply(now), good);
		const roast = simulateDrum({
			kind: lot.kind,
			seed: `${seed}/test ${k + 1}`,
			settings,
			roaster: drum,
			params: lot.bean,
			drop
		});
		return {
			settings,
			purpose: mended?.purpose ?? 'First batch from the sample reading',
			change: mended?.mending ?? '',
			roast,
			flawsLeft: left.length,
			cup: left[0]?.cup ?? ''
		};
	});
	const last = tests[tests.length - 1];
	if (last === undefined) throw new Error('a programme needs a test');
	return { roaster: lot.roaster, tests, weightLoss: 1 - last.roast.outG / last.roast.chargeG };
}

/** The sentence under a verdict, from the log itself. */
export function verdictReason(test: PlannedTest, approved: PlannedTest, verdict: Verdict): string {
	const heard = markAt(test.roast, 'firstCrackEar');
	const dropS = test.roast.truth.dropS;
	const wanted = markAt(approved.roast, 'firstCrackEar');
	const development =
		heard === null ? '' : `, development ${(100 * (1 - heard / dropS)).toFixed(1)} %`;
	const crack =
		heard === null ? 'No crack heard' : `Crack at ${minutesSeconds(heard)}${development}`;
	if (verdict === 'approve') return `${crack}; cup clean and sweet.`;
	const off = heard === null || wanted === null ? 0 : Math.round(heard - wanted);
	const against =
		Math.abs(off) < 8 ? '' : `, ${Math.abs(off)} s ${off < 0 ? 'earlier' : 'later'} than wanted`;
	if (verdict === 'reject') return `${crack}${against}; ${test.cup}; fault in the green.`;
	return `${crack}${against}; ${test.cup}.`;
}

function markAt(roast: DrumRoast, name: 'firstCrackEar'): number | null {
	return roast.log.marks.find((mark) => mark.name === name)?.timeS ?? null;
}

/** One panel's sheet for a test: `quality` is the lot's own score, each flaw left takes a point. */
export function cup(
	test: PlannedTest,
	lot: { kind: LotKind; quality: number },
	at: Stamp,
	form: '2004' | '2024',
	chance: Chance,
	faulty = false
): CuppingStory {
	const score = lot.quality - Math.min(4, 1.1 * test.flawsLeft) + chance.tame(0, 0.35, 1.5);
	const taints = test.flawsLeft > 2 && chance.happens(0.5) ? 1 : 0;
	const words = DESCRIPTORS[lot.kind];
	const first = chance.whole(0, words.length - 1);
	const found = [0, 2, 3].map((step) => words[(first + step) % words.length] ?? '');
	return {
		at,
		form,
		scores: form === '2004' ? scores2004(score, chance) : scores2024(score, chance),
		taints: faulty ? 2 : taints,
		faults: faulty ? 1 : 0,
		descriptors: (test.cup === '' ? found : [...found.slice(0, 2), test.cup]).join(', ')
	};
}

/** Ten attributes: seven in quarter points, three of uniformity at 10. */
function scores2004(score: number, chance: Chance): number[] {
	const quarters = Math.round((score - 30) * 4);
	const seven = shareOut(quarters, 7, 24, 39, chance).map((value) => value / 4);
	return [...seven.slice(0, 6), 10, 10, 10, seven[6] ?? 0];
}

/** Eight whole numbers 1 to 9 whose sum gives the score by the 2024 form's formula. */
function scores2024(score: number, chance: Chance): number[] {
	return shareOut(Math.round((score - 52.75) / 0.65625), 8, 1, 9, chance);
}

function shareOut(
	total: number,
	parts: number,
	low: number,
	high: number,
	chance: Chance
): number[] {
	const each = Math.floor(total / parts);
	const values = Array.from({ length: parts }, (_, i) => each + (i < total - each * parts ? 1 : 0));
	for (let swap = 0; swap < 5; swap++) {
		const from = chance.whole(0, parts - 1);
		const to = chance.whole(0, parts - 1);
		if ((values[from] ?? low) - 1 >= low && (values[to] ?? high) + 1 <= high && from !== to) {
			values[from] = (values[from] ?? 0) - 1;
			values[to] = (values[to] ?? 0) + 1;
		}
	}
	return values;
}

/**
 * What a roasted kilogram is worth in stock against its selling price. Test coffee is taken into a product at
 * that worth, not at the price with its margin: a test does not earn by being sold.
 */
const STOCK_SHARE = 0.52;

/** What became of a test's roasted coffee: the nearer to right, the more of it was sold in full. */
export function recoveriesOf(
	test: PlannedTest,
	product: string,
	verdictDay: string,
	chance: Chance
): RecoveryStory[] {
	const outG = Math.floor(test.roast.outG / 100) * 100;
	const worth = productOf(product).pricePerKg * STOCK_SHARE;
	const cuppedG = 500;
	const restG = outG - cuppedG;
	const at = (days: number): Stamp => stamp(workdaysAfter(verdictDay, days), 930);
	const cupped: RecoveryStory = {
		at: at(1),
		kind: 'written off',
		massG: cuppedG,
		value: 0,
		product: null
	};
	const sold = (kind: RecoveryStory['kind'], massG: number, factor: number): RecoveryStory => ({
		at: at(2),
		kind,
		massG,
		value: (massG / 1000) * worth * factor,
		product: kind === 'full' || kind === 'blended off' ? product : null
	});
	if (test.flawsLeft === 0) return [cupped, sold('full', restG, 1)];
	if (test.flawsLeft === 1)
		return chance.happens(0.5)
			? [cupped, sold('blended off', restG, 0.6)]
			: [cupped, sold('reduced', restG, 0.55)];
	if (test.flawsLeft < 4) {
		const halfG = Math.round(restG / 2000) * 1000;
		return [cupped, sold('reduced', halfG, 0.45), sold('blended off', restG - halfG, 0.5)];
	}
	return chance.happens(0.3)
		? [{ ...cupped, massG: outG }]
		: [cupped, sold('reduced', restG, 0.35)];
}

/** The day a test is cupped: one or two days after its roast, on a weekday. */
export function cuppingDay(roastDay: string, chance: Chance): string {
	const days = weekdayOf(roastDay) <= 3 && chance.happens(0.35) ? 2 : 1;
	return addDays(roastDay, days);
}

export const PANEL = PEOPLE.quality;
