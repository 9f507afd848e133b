/** Checks on what is known about the roast beside its log, and on the log as a whole. */
import { STANDARD_PRESSURE_PA, standardPressurePa } from '../air/pressure.ts';
import type { Channel, RoastLog } from '../curve/log.ts';
import type { Problem } from '../quantity/problem.ts';
import { figure, finding, type Finding } from './finding.ts';
import { dropTimeS } from './grid.ts';
import type { ReadingContext, ReadingInputs } from './reading.ts';

const SHORTEST_S = 60;
const FEWEST_ROWS = 30;
/** Steps and gaps longer than these blur or hide a crack. */
const COARSE_STEP_S = 4;
const LONG_GAP_S = 20;

/** What makes a log unreadable, whatever its channels hold; empty when nothing does. */
export function logProblems(log: RoastLog): Problem[] {
	const { timeS } = log;
	for (let i = 0; i < timeS.length; i++) {
		if (!Number.isFinite(timeS[i]!) || (i > 0 && !(timeS[i]! > timeS[i - 1]!))) {
			const after = i > 0 ? ` after ${timeS[i - 1]} s` : '';
			return [
				{
					path: `row ${i + 1}, time`,
					message: `Time is ${timeS[i]} s${after}; expected times that rise from row to row.`
				}
			];
		}
	}
	const problems: Problem[] = [];
	for (const [name, values] of Object.entries(log.channels)) {
		if (values.length === timeS.length) continue;
		const message = `${name} has ${values.length} values for ${timeS.length} rows; expected one a row.`;
		problems.push({ path: name, message });
	}
	const durationS = dropTimeS(log) - Math.max(0, timeS[0] ?? NaN);
	if (!(durationS >= SHORTEST_S) || timeS.length < FEWEST_ROWS) {
		const found =
			timeS.length === 0 ? 'no rows' : `${timeS.length} rows over ${figure(durationS)} s`;
		const message = `The log has ${found}; expected at least ${FEWEST_ROWS} rows over ${SHORTEST_S} s from charge to drop.`;
		problems.push({ path: 'log', message });
	}
	return problems;
}

/** What makes a log less reliable than another. */
export function logFindings(log: RoastLog): Finding[] {
	const findings: Finding[] = [];
	const { timeS } = log;
	const meanStepS = (timeS.at(-1)! - timeS[0]!) / (timeS.length - 1);
	if (meanStepS > COARSE_STEP_S) {
		const message = `The log has a row every ${figure(meanStepS)} s; expected one a second, or every ${COARSE_STEP_S} s at most.`;
		findings.push(finding('time', message, 0.3));
	}
	if (!log.marks.some((mark) => mark.name === 'drop')) {
		const message = `No drop is marked: the end of the log at ${figure(timeS.at(-1)!)} s is taken.`;
		findings.push(finding('drop', message, 0.05));
	}
	const has = (name: Channel) => log.channels[name]?.some(Number.isFinite) ?? false;
	if (!has('beanC')) {
		const message = has('exhaustC')
			? 'No bean temperature: the crack is looked for by the exhaust temperature, over a wider span.'
			: 'No bean or exhaust temperature: the crack is looked for by time alone and is never called distinct.';
		findings.push(finding('beanC', message, has('exhaustC') ? 0.15 : 0.4));
	}
	return findings;
}

/** A gap of a channel long enough to hide a crack, if there is one. */
export function gapFinding(
	path: string,
	timeS: Float64Array,
	values: ArrayLike<number>
): Finding[] {
	let last = timeS[0]!;
	let gap = { fromS: 0, toS: 0 };
	const end = timeS.length - 1;
	for (let i = 0; i <= end; i++) {
		if (!Number.isFinite(values[i]!) && i < end) continue;
		if (timeS[i]! - last > gap.toS - gap.fromS) gap = { fromS: last, toS: timeS[i]! };
		last = timeS[i]!;
	}
	if (gap.toS - gap.fromS <= LONG_GAP_S) return [];
	const message = `No usable value from ${figure(gap.fromS)} to ${figure(gap.toS)} s: a straight line is drawn through, and a crack there would be missed.`;
	return [finding(path, message, 0.3)];
}

/** Inputs that would spoil every figure; empty when there are none. */
export function contextProblems(context: ReadingContext): Problem[] {
	const problems: Problem[] = [];
	const expect = (name: keyof ReadingContext, from: number, to: number, unit: string) => {
		const value = context[name];
		if (value === null || (value >= from && value <= to)) return;
		const message = `${name} is ${value}; expected ${from} to ${to} ${unit}.`;
		problems.push({ path: name, message });
	};
	expect('pressurePa', 40_000, 120_000, 'Pa');
	expect('altitudeM', -500, 6000, 'm');
	expect('sensorLagS', 0, 120, 's');
	expect('airFlowGS', 0.01, 100_000, 'g/s');
	expect('roomHumidityGKg', 0, 100, 'g/kg');
	return problems;
}

/** Air pressure by what is known. */
export function pressureOf(
	context: ReadingContext
): Pick<ReadingInputs, 'pressurePa' | 'pressureFrom'> {
	if (context.pressurePa !== null) return { pressurePa: context.pressurePa, pressureFrom: 'given' };
	if (context.altitudeM !== null) {
		return { pressurePa: standardPressurePa(context.altitudeM), pressureFrom: 'altitude' };
	}
	return { pressurePa: STANDARD_PRESSURE_PA, pressureFrom: 'standard' };
}

/** Share of the charge that was lost, 0 to 1, or null with the reason where the weights don't say. */
export function weightLossOf(
	chargeG: number | null,
	outG: number | null
): { readonly loss: number | null; readonly findings: readonly Finding[] } {
	if (chargeG === null || outG === null) return { loss: null, findings: [] };
	if (chargeG > 0 && outG > 0 && outG < chargeG) {
		return { loss: (chargeG - outG) / chargeG, findings: [] };
	}
	const message = `The charge is ${chargeG} g and ${outG} g came out; expected less out than in, both above 0. No weight loss is reckoned.`;
	return { loss: null, findings: [finding('weight', message, 0.1)] };
}
