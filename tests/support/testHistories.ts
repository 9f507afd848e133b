/**
 * Lots with a known chance of release, for the forecast of tests: kinds differ, a lot that gives off much
 * water early or cracks faintly is harder, lots differ beyond what a sample says, and each test teaches.
 * Effects in log-odds are invented.
 */
import { chanceFrom, type Chance } from '#demo/chance.ts';
import { LOT_KINDS } from '#lib/domain/lot/lot.ts';
import { testsForecaster } from '#lib/domain/trial/forecast.ts';
import type { LotTraits, TestedLot } from '#lib/domain/trial/hazard.ts';

export interface Truth {
	/** Log-odds of release at the first test of an average lot, and their spread between roasteries. */
	readonly base: number;
	readonly bases: number;
	/** Spread of kinds, effect of the reading, spread of lots that no record shows, effect of log(number). */
	readonly kinds: number;
	readonly reading: number;
	readonly hidden: number;
	readonly learning: number;
}

/** A roastery whose samples tell something, and one where every test releases with the same chance. */
export const TELLING: Truth = {
	base: -0.4,
	bases: 0.5,
	kinds: 0.6,
	reading: 0.7,
	hidden: 0.4,
	learning: 0.5
};
export const ALIKE: Truth = {
	base: -0.4,
	bases: 0.5,
	kinds: 0,
	reading: 0,
	hidden: 0,
	learning: 0
};

/** A lot that got released after so many tests, at most 40. */
export interface SimulatedLot extends TestedLot {
	readonly tests: number;
}

export function simulateLots(truth: Truth, lots: number, seed: string): SimulatedLot[] {
	const chance = chanceFrom(seed);
	const base = chance.normal(truth.base, truth.bases);
	const kindEffects = LOT_KINDS.map(() => chance.normal(0, truth.kinds));
	return Array.from({ length: lots }, () => simulateLot({ ...truth, base }, kindEffects, chance));
}

function simulateLot(truth: Truth, kindEffects: readonly number[], chance: Chance): SimulatedLot {
	const kind = chance.whole(0, LOT_KINDS.length - 1);
	const [early, crack] = [chance.normal(), chance.normal()];
	const odds =
		truth.base +
		kindEffects[kind]! +
		truth.reading * (crack - early) * Math.SQRT1_2 +
		chance.normal(0, truth.hidden);
	let tests = 1;
	while (
		tests < 40 &&
		!chance.happens(1 / (1 + Math.exp(-odds - truth.learning * Math.log(tests))))
	)
		tests++;
	return {
		kind: LOT_KINDS[kind]!,
		earlyShare: 0.35 + 0.05 * early,
		crackProminence: 0.4 + 0.15 * crack,
		fruitless: tests - 1,
		released: true,
		tests
	};
}

/** Foretells the tests of a lot from lots before it: entry k is the chance of k + 1 tests. */
export type Foretell = (lot: LotTraits) => (tests: number) => number;
export type Teach = (history: readonly SimulatedLot[]) => Foretell;

export const ours: Teach = (history) => {
	const forecaster = testsForecaster(history);
	return (lot) => {
		const { chances, chanceBeyond } = forecaster.forecast(lot, 0, history);
		const longest = chances.at(-1)!.tests;
		// What lies beyond is spread as thin as a geometric tail of the same mean would have it.
		return (tests) =>
			chances[tests - 1]?.chance ?? chanceBeyond * 0.3 * 0.7 ** (tests - longest - 1);
	};
};

/** One chance for every test of every lot: released lots over tests, the stated prior counted in. */
export const constantRate: Teach = (history) => {
	const rate = (history.length + 4) / (history.reduce((sum, lot) => sum + lot.tests, 0) + 10);
	return () => (tests) => rate * (1 - rate) ** (tests - 1);
};

export interface ForecastScore {
	/** Mean of minus the logarithm of the chance given to what came, nats. */
	readonly logLoss: number;
	/** Mean squared error of the chance of at most two tests. */
	readonly brier: number;
	/** Mean distance of foretold chance and share that came, over tenths of the foretold chance. */
	readonly calibration: number;
}

/** Scores on `fresh` lots after `histories` independent histories of `length` lots. */
export function scoreForecast(
	truth: Truth,
	length: number,
	{ histories, fresh, seed }: { histories: number; fresh: number; seed: string },
	teach: Teach
): ForecastScore {
	let [logLoss, brier] = [0, 0];
	const bins = Array.from({ length: 10 }, () => ({ foretold: 0, came: 0, lots: 0 }));
	for (let h = 0; h < histories; h++) {
		const all = simulateLots(truth, length + fresh, `${seed} ${length} ${h}`);
		const foretell = teach(all.slice(0, length));
		for (const lot of all.slice(length)) {
			const chanceOf = foretell(lot);
			logLoss -= Math.log(chanceOf(lot.tests));
			const withinTwo = chanceOf(1) + chanceOf(2);
			const came = lot.tests <= 2 ? 1 : 0;
			brier += (withinTwo - came) ** 2;
			const bin = bins[Math.min(9, Math.floor(10 * withinTwo))]!;
			bin.foretold += withinTwo;
			bin.came += came;
			bin.lots++;
		}
	}
	const count = histories * fresh;
	const off = bins.reduce((sum, { foretold, came }) => sum + Math.abs(foretold - came), 0);
	return { logLoss: logLoss / count, brier: brier / count, calibration: off / count };
}
