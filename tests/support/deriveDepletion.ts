/**
 * Derives the depletion of `BURST_MODEL` from simulated roasts of the `tuning` seeds: the value for
 * which the half-cracked moment is found neither early nor late on the whole. Run it with
 * `node tests/support/deriveDepletion.ts`; it prints the mean error and spread for a row of values.
 */
import { fileURLToPath } from 'node:url';
import { BURST_MODEL, type BurstModel } from '#lib/domain/release/burst.ts';
import { crackEvidence, crackGate, type CrackCurve } from '#lib/domain/release/crack.ts';
import { gridOf, onGrid } from '#lib/domain/release/grid.ts';
import { humidityOf } from '#lib/domain/release/humidity.ts';
import { releaseOf } from '#lib/domain/release/rate.ts';
import { savgolFilter } from '#lib/domain/curve/smooth.ts';
import { tuningRoasts } from './crackAccuracy.ts';
import type { SampleRoast } from '#demo/simulate.ts';

/** Mean error of the half-cracked moment and its spread, s, over distinct cracks. */
export function errorWith(roasts: readonly SampleRoast[], model: BurstModel) {
	const errors: number[] = [];
	for (const roast of roasts) {
		const curve = curveOf(roast);
		const gate = crackGate(curve);
		const evidence = gate && crackEvidence(curve, gate, model);
		if (evidence) errors.push(evidence.halfCrackedS - roast.truth.halfCrackedS);
	}
	const meanS = errors.reduce((sum, error) => sum + error, 0) / errors.length;
	const squares = errors.reduce((sum, error) => sum + (error - meanS) ** 2, 0);
	return { meanS, spreadS: Math.sqrt(squares / (errors.length - 1)) };
}

/** The curve that a reading of this roast searches, with the true lag and room. */
function curveOf(roast: SampleRoast): CrackCurve {
	const humidity = humidityOf(roast.log, roast.pressurePa);
	if (!humidity.ok) throw new Error(humidity.problems[0]?.message);
	const grid = gridOf(roast.log);
	const ratio = onGrid(roast.log.timeS, humidity.value.ratioGKg, grid)!;
	const excess = ratio.map((value) => value - roast.roomHumidityGKg);
	const release = releaseOf(excess, new Float64Array(grid.length).fill(1), roast.lagS);
	const beanC = onGrid(roast.log.timeS, roast.log.channels.beanC!, grid)!;
	return {
		timeS: grid,
		shown: release.shownGKg,
		released: release.trueGKg,
		noise: release.noiseGKg,
		temperatureC: savgolFilter(beanC, { points: 21, order: 2 }),
		temperatureFrom: 'bean',
		lag: { lagS: roast.lagS, from: 'given', errorS: 0 }
	};
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
	const roasts = tuningRoasts(360).filter(({ truth }) => truth.distinct);
	console.log('depletion 1/s   mean error s   spread s');
	for (const depletionPerS of [0, 0.01, 0.02, 0.025, 0.03, 0.035, 0.04]) {
		const { meanS, spreadS } = errorWith(roasts, { ...BURST_MODEL, depletionPerS });
		const columns = [depletionPerS.toFixed(3), meanS.toFixed(2), spreadS.toFixed(2)];
		console.log(columns.map((text) => text.padStart(12)).join(' '));
	}
}
