import type { FaultName } from './faultRules.ts';
import type { DrumReading, DrumSeries } from './reading.ts';

/** A reading's series moved so that second 0 is where the batches are laid over each other. */
export interface AlignedSeries {
	/** What was taken off every time, s. */
	readonly shiftS: number;
	readonly series: DrumSeries;
}

/**
 * The series of several batches, in order, with time 0 at charge or at first crack. A batch without
 * that mark gives null: it can't be laid over the others.
 */
export function alignAt(
	readings: readonly DrumReading[],
	at: 'charge' | 'crack'
): (AlignedSeries | null)[] {
	return readings.map(({ marks, series }) => {
		const mark = at === 'charge' ? marks.charge : marks.firstCrack;
		if (mark === null) return null;
		const timeS = series.timeS.map((second) => second - mark.timeS);
		return { shiftS: mark.timeS, series: { ...series, timeS } };
	});
}

interface OutcomeFigure {
	readonly key: string;
	readonly label: string;
	/** `1` is a share, 0 to 1. */
	readonly unit: 's' | 'C' | 'C/min' | 'C min' | '1';
	readonly of: (reading: DrumReading) => number | null;
}

const FIGURES: readonly OutcomeFigure[] = [
	figure('chargeC', 'Probe at charge', 'C', (r) => r.marks.charge.temperatureC),
	figure('turningPointS', 'Turning point', 's', (r) => r.marks.turningPoint?.timeS),
	figure('turningPointC', 'Turning point', 'C', (r) => r.marks.turningPoint?.temperatureC),
	figure('highestRorCMin', 'Highest rate of rise', 'C/min', (r) => r.highestRorCMin),
	figure('dryingS', 'Drying', 's', (r) => r.phases.drying?.seconds),
	figure('dryingShare', 'Drying, share', '1', (r) => r.phases.drying?.share),
	figure('browningS', 'Browning', 's', (r) => r.phases.browning?.seconds),
	figure('browningShare', 'Browning, share', '1', (r) => r.phases.browning?.share),
	figure('crackS', 'First crack', 's', (r) => r.marks.firstCrack?.timeS),
	figure('crackC', 'First crack', 'C', (r) => r.marks.firstCrack?.temperatureC),
	figure('rorAtCrackCMin', 'Rate of rise at crack', 'C/min', (r) => r.marks.firstCrack?.rorCMin),
	figure('developmentS', 'Development', 's', (r) => r.developmentS),
	figure('developmentRatio', 'Development time ratio', '1', (r) => r.developmentRatio),
	figure('totalS', 'Total time', 's', (r) => r.totalS),
	figure('dropC', 'Drop', 'C', (r) => r.marks.drop.temperatureC),
	figure('areaCMin', 'Area above the base', 'C min', (r) => r.areaCMin),
	figure('weightLoss', 'Weight loss', '1', (r) => r.weightLoss)
];

function figure(
	key: string,
	label: string,
	unit: OutcomeFigure['unit'],
	of: (reading: DrumReading) => number | null | undefined
): OutcomeFigure {
	return { key, label, unit, of: (reading) => of(reading) ?? null };
}

export interface FigureValue {
	readonly key: string;
	readonly label: string;
	readonly unit: OutcomeFigure['unit'];
	readonly value: number | null;
}

/** Every figure by which batches are compared, of one of them. */
export function outcomeFigures(reading: DrumReading): FigureValue[] {
	return FIGURES.map(({ key, label, unit, of }) => ({ key, label, unit, value: of(reading) }));
}

export interface OutcomeRow {
	readonly key: string;
	readonly label: string;
	readonly unit: OutcomeFigure['unit'];
	readonly prev: number | null;
	readonly next: number | null;
	/** next - prev; null where one of them is missing or the two don't compare. */
	readonly difference: number | null;
	/** Why the two don't compare, or null. */
	readonly because: string | null;
}

export interface OutcomeComparison {
	readonly rows: readonly OutcomeRow[];
	readonly faultsGone: readonly FaultName[];
	readonly faultsNew: readonly FaultName[];
}

/** What came out differently from one batch to the next, figure by figure and fault by fault. */
export function compareOutcomes(prev: DrumReading, next: DrumReading): OutcomeComparison {
	const rows = FIGURES.map((figure) => rowOf(figure, prev, next));
	return {
		rows,
		faultsGone: faultsOnlyIn(prev, next),
		faultsNew: faultsOnlyIn(next, prev)
	};
}

function rowOf(
	{ key, label, unit, of }: OutcomeFigure,
	prevReading: DrumReading,
	nextReading: DrumReading
): OutcomeRow {
	const prev = of(prevReading);
	const next = of(nextReading);
	const because = whyNotAlike(unit, prevReading, nextReading);
	const isKnown = prev !== null && next !== null && because === null;
	return { key, label, unit, prev, next, difference: isKnown ? next - prev : null, because };
}

/** Names of faults that one reading has and the other, having looked for them, has not (D6). */
function faultsOnlyIn(reading: DrumReading, other: DrumReading): FaultName[] {
	const unknown = new Set([...other.faults, ...other.unchecked].map((fault) => fault.name));
	const names = new Set(reading.faults.map((fault) => fault.name));
	return [...names].filter((name) => !unknown.has(name));
}

/** Rates over different windows and areas above different bases are not the same figure. */
function whyNotAlike(
	unit: OutcomeFigure['unit'],
	prev: DrumReading,
	next: DrumReading
): string | null {
	const [a, b] = [prev.inputs.settings, next.inputs.settings];
	if (unit === 'C/min' && a.rorWindowS !== b.rorWindowS) {
		return `rates over ${a.rorWindowS} s and ${b.rorWindowS} s`;
	}
	if (unit === 'C min' && a.areaBaseC !== b.areaBaseC) {
		return `areas above ${a.areaBaseC} C and ${b.areaBaseC} C`;
	}
	return null;
}
