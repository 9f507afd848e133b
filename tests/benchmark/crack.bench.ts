import {
	crackAccuracy,
	falseDistinct,
	peakFinder,
	saidTooNoisy,
	WITHIN_S,
	type AccuracyOptions,
	type CrackAccuracy,
	type CrackFinder
} from '#support/crackAccuracy.ts';
import type { Benchmark, Figure } from './harness.ts';

const GOAL = { within: 0.95, biasS: 1, falseDistinct: 0.02, noisyAboveRhPct: 0.3 } as const;
/** Six kinds of coffee on three profiles, fifteen of each. */
const HELD_BACK: AccuracyOptions = { seeds: 'held back', logs: 270 };
const FEWER: AccuracyOptions = { seeds: 'held back', logs: 90 };
/** Noise at either side of the limit, points of relative humidity. */
const NOISE = { quiet: 0.25, noisy: 0.35 } as const;

/**
 * How well first crack is found on simulated roasts of seeds that no constant was set on: the share
 * within 5 s of the half-cracked moment. The reference is the most prominent peak of the smoothed curve,
 * moved by its own mean error, since peaks come early.
 */
export const benchmark: Benchmark = {
	name: 'crack accuracy',
	unit: '%',
	goal:
		`>= ${percent(GOAL.within)} within ${WITHIN_S} s, bias < ${GOAL.biasS} s, ` +
		`< ${percent(GOAL.falseDistinct)} false distinct, too noisy said above ${GOAL.noisyAboveRhPct} %`,
	async run() {
		return figureOf({
			ours: crackAccuracy(HELD_BACK),
			peaks: crackAccuracy({ ...HELD_BACK, find: movedPeaks() }),
			wrongly: falseDistinct(HELD_BACK),
			quietSaid: saidTooNoisy({ ...FEWER, noiseRhPct: NOISE.quiet }),
			noisySaid: saidTooNoisy({ ...FEWER, noiseRhPct: NOISE.noisy })
		});
	}
};

/** The peaks of the smoothed curve, later by how much too early they are on the tuning seeds. */
function movedPeaks(): CrackFinder {
	const { biasS } = crackAccuracy({ seeds: 'tuning', logs: FEWER.logs, find: peakFinder });
	return (roast, context) => {
		const found = peakFinder(roast, context);
		return found?.peakS ? { ...found, peakS: found.peakS - biasS } : found;
	};
}

interface Measured {
	readonly ours: CrackAccuracy;
	readonly peaks: CrackAccuracy;
	/** Share called distinct of those that never crack. */
	readonly wrongly: number;
	/** Shares said to be too noisy at either side of the limit. */
	readonly quietSaid: number;
	readonly noisySaid: number;
}

function figureOf({ ours, peaks, wrongly, quietSaid, noisySaid }: Measured): Figure {
	return {
		value: 100 * ours.within,
		reference: 100 * peaks.within,
		ratio: ours.within / peaks.within,
		holds:
			ours.within >= GOAL.within &&
			Math.abs(ours.biasS) < GOAL.biasS &&
			wrongly < GOAL.falseDistinct &&
			noisySaid === 1 &&
			quietSaid === 0,
		note: [
			`${ours.logs} simulated roasts with a distinct crack (noise .1 % RH, lag known); no open data was found`,
			`ours: ${accuracyText(ours)}; ${profilesText(ours)}`,
			`peaks of the smoothed curve, moved by their mean error: ${accuracyText(peaks)}; ${profilesText(peaks)}`,
			`called distinct where nothing cracks: ${percent(wrongly)} of ${HELD_BACK.logs}`,
			`said to be too noisy: ${percent(quietSaid)} at ${NOISE.quiet} % RH, ${percent(noisySaid)} at ${NOISE.noisy} %`,
			`lag not given: ${accuracyText(crackAccuracy({ ...FEWER, context: { sensorLagS: null } }))}`,
			`noise .2 % RH: ${accuracyText(crackAccuracy({ ...FEWER, roast: { noiseRhPct: 0.2 } }))}`,
			...[1.05, 1.15].map(fanStepText)
		].join('\n    ')
	};
}

/** What a step of the fan around the crack does, with the fan in the log and without. */
function fanStepText(factor: number): string {
	const text = (logged: boolean) => {
		const options = { ...FEWER, fanStep: { factor, logged } };
		return `false distinct ${percent(falseDistinct(options))}, ${accuracyText(crackAccuracy(options))}`;
	};
	return `fan step of ${percent(factor - 1)}: logged ${text(true)}; not logged ${text(false)}`;
}

function accuracyText({ within, biasS, spreadS, missed }: CrackAccuracy): string {
	return (
		`${percent(within)} within ${WITHIN_S} s, bias ${biasS.toFixed(2)} s, spread ${spreadS.toFixed(2)} s, ` +
		`missed ${percent(missed)}`
	);
}

function profilesText({ byProfile }: CrackAccuracy): string {
	return Object.entries(byProfile)
		.map(([profile, { within }]) => `${profile} ${percent(within)}`)
		.join(', ');
}

function percent(share: number): string {
	return `${Number((100 * share).toFixed(1))} %`;
}
