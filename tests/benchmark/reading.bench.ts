import { spawn, spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { PROFILES, simulateSample, type InletProfile } from '#demo/simulate.ts';
import { cumulativeTrapezoid } from '#lib/domain/curve/integrate.ts';
import type { RoastLog } from '#lib/domain/curve/log.ts';
import { savgolFilter } from '#lib/domain/curve/smooth.ts';
import { airFlowOf } from '#lib/domain/release/flow.ts';
import { gridOf, onGrid } from '#lib/domain/release/grid.ts';
import { absoluteFromRatio, humidityOf } from '#lib/domain/release/humidity.ts';
import { releaseOf } from '#lib/domain/release/rate.ts';
import { readSample } from '#lib/domain/release/read.ts';
import type { ReadingContext, SampleReading } from '#lib/domain/release/reading.ts';
import { roomAir } from '#lib/domain/release/room.ts';
import { contextOf } from '#support/crackAccuracy.ts';
import { median, timeMs, type Benchmark, type Figure } from './harness.ts';

/** Turns of the two, and readings in each turn. */
const TURNS = 15;
const READINGS = 20;
const WARM_UP = 300;
const GOAL = { speedUp: 5, ms: 0.5 } as const;
/** How far the two rates may lie apart, as a share of the highest, but for the ends: there SciPy goes on
 * with the cubic and we don't. The widest window's half. */
const EQUAL = 1e-9;
const ENDS = 30;
/** Rows of the log; channels are bean, exhaust, inlet and sensor temperature and relative humidity. */
const ROWS = 700;

/**
 * The whole reading of one log, crack fit included, against release rate, absolute humidity and smoothed
 * bean temperature by SciPy: the same formulas and windows, checked to give the same rate. SciPy is
 * spared the crack fit, so the ratio is less than like for like; the note has ours without it.
 *
 * The fit keeps what depends on the sensor's lag and on the length of its window only. The figure is of a log
 * whose lag and length were never met before, as every log of a roastery is; the note has one met before.
 */
export const benchmark: Benchmark = {
	name: 'reading of one log',
	unit: 'ms',
	goal: `${GOAL.speedUp} x as fast as SciPy and < ${GOAL.ms} ms`,
	async run() {
		if (spawnSync('python3', ['-c', 'import scipy.signal']).status !== 0)
			return { skipped: 'the reference needs python3 with scipy (Debian: python3-scipy)' };
		const roast = simulateSample({
			kind: 'washed',
			seed: 'bench',
			profile: LONG,
			fanLogged: false
		});
		return measure(roast.log, contextOf(roast));
	}
};

/** The usual profile, drawn out to so many rows. */
const LONG: InletProfile = PROFILES.usual.map(
	([seconds, celsius]) => [(seconds * (ROWS - 1)) / PROFILES.usual.at(-1)![0], celsius] as const
);

async function measure(log: RoastLog, context: ReadingContext): Promise<Figure> {
	const scipy = startScipy(log, context);
	try {
		const apart = farthestApart(read(log, context).series.rate, await scipy.rate);
		const logs = ofOtherLengths(log);
		let readings = 0;
		const newLag = () => ({ ...context, sensorLagS: context.sensorLagS! + 1e-6 * ++readings });
		const works = {
			fresh: () => read(logs[readings % logs.length]!, newLag()),
			newLag: () => read(log, newLag()),
			met: () => read(log, context),
			unfitted: () => readUnfitted(log, context)
		};
		const names = Object.keys(works) as (keyof typeof works)[];
		for (let i = 0; i < WARM_UP; i++) for (const name of names) works[name]();
		const ms: Record<keyof Times, number[]> = {
			...{ fresh: [], newLag: [], met: [], unfitted: [], scipy: [] }
		};
		for (let turn = 0; turn < TURNS; turn++) {
			for (const name of names) {
				for (let i = 0; i < READINGS; i++) ms[name].push(await timeMs(works[name]));
			}
			ms.scipy.push(...(await scipy.times(READINGS)).map((seconds) => 1000 * seconds));
		}
		return figureOf(log, apart, {
			fresh: median(ms.fresh),
			newLag: median(ms.newLag),
			met: median(ms.met),
			unfitted: median(ms.unfitted),
			scipy: median(ms.scipy)
		});
	} finally {
		scipy.stop();
	}
}

/** More than the fit keeps lengths of, so that none is still known when its turn comes again. */
const LENGTHS = 80;
const APART_C = 0.3;

/** The log with its bean temperatures a little higher or lower: the fit's window then starts elsewhere. */
function ofOtherLengths(log: RoastLog): RoastLog[] {
	return Array.from({ length: LENGTHS }, (_, i) => {
		const byC = APART_C * (i - LENGTHS / 2);
		const beanC = log.channels.beanC!.map((celsius) => celsius + byC);
		return { ...log, channels: { ...log.channels, beanC } };
	});
}

/** Medians, ms. */
interface Times {
	/** Of a lag and a length never met before. */
	readonly fresh: number;
	/** Of a lag never met before, at a length that was. */
	readonly newLag: number;
	/** Of a lag and a length met before. */
	readonly met: number;
	/** Without the crack fit, as SciPy. */
	readonly unfitted: number;
	readonly scipy: number;
}

function figureOf(log: RoastLog, apart: number, times: Times): Figure {
	const ratioTo = (ms: number) => times.scipy / ms;
	const beside = (ms: number) => `${ms.toFixed(3)} ms, ratio ${ratioTo(ms).toFixed(1)}`;
	return {
		value: times.fresh,
		reference: times.scipy,
		ratio: ratioTo(times.fresh),
		holds: ratioTo(times.fresh) >= GOAL.speedUp && times.fresh < GOAL.ms && apart <= EQUAL,
		note:
			`${log.timeS.length} rows x ${Object.keys(log.channels).length} channels of a lag and a length never met ` +
			`before, median of ${TURNS} turns of ${READINGS}; ratio is SciPy / ours, where SciPy leaves out the crack ` +
			`fit; only the lag new: ${beside(times.newLag)}; both met before: ${beside(times.met)}; ours without the ` +
			`fit too: ${beside(times.unfitted)}; the rates differ by ${apart.toExponential(1)} of the highest but for ` +
			`${ENDS} s at the ends`
	};
}

/** What SciPy does, by our own functions. */
function readUnfitted(log: RoastLog, context: ReadingContext): Float64Array {
	const pressurePa = context.pressurePa ?? NaN;
	const humidity = humidityOf(log, pressurePa);
	if (!humidity.ok) throw new Error('The log has no humidity.');
	const grid = gridOf(log);
	const room = roomAir(log, humidity.value, context.roomHumidityGKg, pressurePa);
	const ratioGKg = onGrid(log.timeS, room.ratioGKg, grid)!;
	const excess = ratioGKg.map((value) => value - room.roomGKg);
	const flow = airFlowOf(log, grid, context.airFlowGS);
	const { trueGKg } = releaseOf(excess, flow.factor, context.sensorLagS ?? NaN);
	const beanC = onGrid(log.timeS, log.channels.beanC!, grid)!;
	savgolFilter(beanC, { points: 21, order: 2 });
	absoluteFromRatio(ratioGKg, onGrid(log.timeS, log.channels.sensorC!, grid)!, pressurePa);
	return cumulativeTrapezoid(grid, trueGKg);
}

function read(log: RoastLog, context: ReadingContext): SampleReading {
	const reading = readSample(log, context);
	if (!reading.ok)
		throw new Error(`The log could not be read: ${JSON.stringify(reading.problems)}`);
	return reading.value;
}

function farthestApart(ours: readonly number[], theirs: readonly number[]): number {
	if (ours.length !== theirs.length)
		throw new Error(`${ours.length} values of ours, ${theirs.length} of SciPy's`);
	const highest = Math.max(...theirs.map(Math.abs));
	const apart = ours.map((value, i) => Math.abs(value - theirs[i]!));
	return Math.max(...apart.slice(ENDS, -ENDS)) / highest;
}

/** A Python that has read the log and works when it is told. */
function startScipy(log: RoastLog, context: ReadingContext) {
	const python = spawn('python3', [join(import.meta.dirname, 'reading.py')], {
		stdio: ['pipe', 'pipe', 'inherit']
	});
	const lines = createInterface({ input: python.stdout })[Symbol.asyncIterator]();
	const answer = async (question: string) => {
		python.stdin.write(`${question}\n`);
		const { value, done } = await lines.next();
		if (done) throw new Error('Python ended early.');
		return JSON.parse(value) as number[];
	};
	const columns = Object.entries(log.channels).map(([name, column]) => [name, [...column]]);
	const { pressurePa, sensorLagS, airFlowGS } = context;
	const known = { pressurePa, sensorLagS, airFlowGS, timeS: [...log.timeS] };
	return {
		rate: answer(JSON.stringify({ ...known, ...Object.fromEntries(columns) })),
		/** Seconds that each of so many readings took. */
		times: (readings: number) => answer(String(readings)),
		stop: () => python.stdin.end()
	};
}
