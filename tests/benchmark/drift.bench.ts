import { readSample } from '#lib/domain/release/read.ts';
import { contextOf } from '#support/crackAccuracy.ts';
import { driftedRoast } from '#support/driftLog.ts';
import type { Benchmark } from './harness.ts';

const LOGS = 90;
/** Seconds that the logger runs on after the drop. */
const AFTER_S = 150;
/** Points of relative humidity from charge to drop. */
const DRIFT_RH_PCT = 0.6;
const GOAL = { found: 0.95, false: 0.02 } as const;

/**
 * Drift of the humidity sensor within a roast: share found by the air after the drop, against what the
 * water balance alone tells of the same logs. Simulated; the seeds are those of the unit test and no
 * constant was set on them.
 */
export const benchmark: Benchmark = {
	name: 'sensor drift',
	unit: '%',
	goal: `>= ${100 * GOAL.found} % of ${DRIFT_RH_PCT} points found, < ${100 * GOAL.false} % false alarms`,
	async run() {
		const drifted = saidOf(DRIFT_RH_PCT);
		const steady = saidOf(0);
		const percent = (share: number) => `${(100 * share).toFixed(0)} %`;
		return {
			value: 100 * drifted.drift,
			reference: 100 * drifted.balance,
			ratio: drifted.drift / drifted.balance,
			holds: drifted.drift >= GOAL.found && steady.drift < GOAL.false,
			note:
				`${LOGS} simulated logs that run on for ${AFTER_S} s after the drop, noise .1 % RH; reference is the ` +
				`water balance alone, air flow known; false alarms without drift: ${percent(steady.drift)}, by the ` +
				`balance ${percent(steady.balance)}`
		};
	}
};

/** Shares of the logs of which a drift, or an unclosed balance, is said. */
function saidOf(driftRhPct: number): { readonly drift: number; readonly balance: number } {
	const said = { drift: 0, balance: 0 };
	for (let i = 0; i < LOGS; i++) {
		const roast = driftedRoast(i, driftRhPct, AFTER_S);
		const reading = readSample(roast.log, contextOf(roast));
		if (!reading.ok) throw new Error(reading.problems[0]?.message);
		const paths = new Set(reading.value.problems.map(({ path }) => path));
		if (paths.has('drift')) said.drift++;
		if (paths.has('balance')) said.balance++;
	}
	return { drift: said.drift / LOGS, balance: said.balance / LOGS };
}
