import {
	ALIKE,
	constantRate,
	ours,
	scoreForecast,
	TELLING,
	type Truth
} from '#support/testHistories.ts';
import type { Benchmark } from './harness.ts';

const GOAL = { worseNats: 0.01, skill: 0.05, calibration: 0.04 } as const;
const LENGTHS = [0, 5, 10, 20, 40, 60, 80, 100, 200] as const;
const SKILL_AT = 100;

/**
 * Forecast of the tests a lot takes to its release, on simulated roasteries of seeds that nothing was set
 * on: one kind of roastery whose samples tell something, one where all lots are alike. The reference is
 * one chance of release for every test of every lot.
 */
export const benchmark: Benchmark = {
	name: 'tests to release',
	unit: 'Brier score',
	goal:
		`Brier skill >= ${GOAL.skill} at ${SKILL_AT} lots, never worse by > ${GOAL.worseNats} nats ` +
		`after any number of lots, calibration error < ${GOAL.calibration} at ${SKILL_AT} lots`,
	async run() {
		const worst = [TELLING, ALIKE].flatMap((truth) =>
			LENGTHS.map((length) => {
				const { us, them } = both(truth, length);
				return { length, worseNats: us.logLoss - them.logLoss };
			})
		);
		const { length, worseNats } = worst.reduce((a, b) => (a.worseNats > b.worseNats ? a : b));
		const { us, them } = both(TELLING, SKILL_AT);
		const alike = both(ALIKE, SKILL_AT).us;
		const skill = 1 - us.brier / them.brier;
		const calibration = Math.max(us.calibration, alike.calibration);
		return {
			value: us.brier,
			reference: them.brier,
			ratio: us.brier / them.brier,
			holds: skill >= GOAL.skill && worseNats <= GOAL.worseNats && calibration < GOAL.calibration,
			note:
				`skill ${skill.toFixed(3)}, calibration error ${us.calibration.toFixed(3)} and ` +
				`${alike.calibration.toFixed(3)} where lots are alike; at worst ${worseNats.toFixed(4)} ` +
				`nats behind, after ${length} lots (simulated roasteries)`
		};
	}
};

function both(truth: Truth, length: number) {
	const size = { histories: 150, fresh: 40, seed: 'held back' };
	return {
		us: scoreForecast(truth, length, size, ours),
		them: scoreForecast(truth, length, size, constantRate)
	};
}
