/**
 * The air that carries the water off. Dry-air flow is taken as proportional to the logged fan or air
 * setting, relative to its value at charge: a step that is not accounted for looks like a step of the
 * release.
 */
import type { Channel, RoastLog } from '../curve/log.ts';
import { figure, finding, type Finding } from './finding.ts';
import { onGrid } from './grid.ts';

export interface AirFlow {
	/** Dry-air flow at charge, g/s; null when it is not known. */
	readonly atChargeGS: number | null;
	/** Flow over flow at charge, on the grid. */
	readonly factor: Float64Array;
	/** The channel that `factor` comes from; null when none is logged and 1 is assumed. */
	readonly from: Channel | null;
	readonly findings: readonly Finding[];
}

const FLOW_CHANNELS = ['airFlowGS', 'fanPct', 'airPct'] as const;

/** A setting within this distance of the one before is the same setting, read with noise. */
const STEADY = 0.01;

/** Flow of a log on its grid; `givenGS` is the dry-air flow at charge when it is known. */
export function airFlowOf(log: RoastLog, grid: Float64Array, givenGS: number | null): AirFlow {
	for (const from of FLOW_CHANNELS) {
		const values = log.channels[from];
		const column = values && onGrid(log.timeS, values, grid);
		if (!column) continue;
		const first = column[0]!;
		if (!column.every((value) => value > 0)) {
			const message = `${from} falls to ${figure(Math.min(...column))}; expected more than 0 through the roast. It is not used.`;
			return {
				atChargeGS: givenGS,
				factor: evenFactor(grid),
				from: null,
				findings: [finding(from, message, 0.2)]
			};
		}
		const atChargeGS = givenGS ?? (from === 'airFlowGS' ? first : null);
		for (let i = 0; i < column.length; i++) column[i]! /= first;
		const factor = steadied(column);
		return { atChargeGS, factor, from, findings: [] };
	}
	const findings = [
		finding(
			'fanPct',
			'No fan or air setting is logged: the flow is taken as even, and a change of it would look ' +
				'like a change of the release.',
			0.05
		)
	];
	return { atChargeGS: givenGS, factor: evenFactor(grid), from: null, findings };
}

function evenFactor(grid: Float64Array): Float64Array {
	return new Float64Array(grid.length).fill(1);
}

/** Holds a setting until it has clearly changed, so that its noise does not become the release's. */
function steadied(factor: Float64Array): Float64Array {
	let held = factor[0] ?? 1;
	const steady = new Float64Array(factor.length);
	for (let i = 0; i < factor.length; i++) {
		if (Math.abs(factor[i]! - held) > STEADY * held) held = factor[i]!;
		steady[i] = held;
	}
	return steady;
}
