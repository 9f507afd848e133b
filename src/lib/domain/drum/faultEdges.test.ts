import { describe, expect, it } from 'vitest';
import { CLEAN, FAULTY, START } from '#support/drumFaults.ts';
import { madeDrumLog, type MadeDrum } from '#support/drumLog.ts';
import { FAULT_NAMES, type FaultName, type FaultThresholds } from './faultRules.ts';
import { readDrum } from './read.ts';
import type { DrumFault } from './reading.ts';

/** The threshold that a fault's size is compared with. */
const DECIDING: Readonly<Record<FaultName, keyof FaultThresholds>> = {
	'scorching start': 'scorchRorCMin',
	'probe lag': 'probeLagS',
	stall: 'stallForS',
	crash: 'crashFallCMin',
	flick: 'flickRiseCMin',
	runaway: 'runawayAboveCrackCMin'
};

function faultsOf(made: MadeDrum, thresholds: Partial<FaultThresholds> = {}) {
	const read = readDrum(madeDrumLog(made), { chargeG: null, outG: null, settings: { thresholds } });
	if (!read.ok) throw new Error(JSON.stringify(read.problems));
	return read.value.faults;
}

const named = (faults: readonly DrumFault[], name: FaultName) =>
	faults.find((fault) => fault.name === name);

describe('a fault near its threshold', () => {
	it.each(FAULT_NAMES)('%s is called at its size and not just above', (name) => {
		const { size } = named(faultsOf(FAULTY[name]), name)!;
		const key = DECIDING[name];
		expect(named(faultsOf(FAULTY[name], { [key]: size * 0.999 }), name)?.size).toBeCloseTo(size, 9);
		expect(named(faultsOf(FAULTY[name], { [key]: size * 1.001 }), name)).toBeUndefined();
	});

	it.each(FAULT_NAMES)(
		'%s is told through the scatter of a probe three tenths away from it',
		(name) => {
			const key = DECIDING[name];
			const { size } = named(faultsOf(FAULTY[name]), name)!;
			for (let seed = 1; seed <= 8; seed++) {
				const noisy = { ...FAULTY[name], scatterC: 0.2, seed };
				expect(named(faultsOf(noisy, { [key]: size * 0.7 }), name), `seed ${seed}`).toBeDefined();
				expect(named(faultsOf(noisy, { [key]: size * 1.3 }), name), `seed ${seed}`).toBeUndefined();
			}
		}
	);
});

/** Rises of the beans' own rate after the crack, C/min, by which each made curve is one step worse. */
const STEPS = Array.from({ length: 13 }, (_, i) => i * 0.5);

/** From which step on a fault is called; all later ones must be called too. */
function calledFrom(name: FaultName, made: (step: number) => MadeDrum): number {
	const called = STEPS.map((step) => named(faultsOf(made(step)), name) !== undefined);
	const first = called.indexOf(true);
	expect(first, `${name} is never called`).toBeGreaterThan(0);
	expect(called.slice(first).every(Boolean)).toBe(true);
	return STEPS[first]!;
}

describe('a made fault that grows', () => {
	const late = (step: number): MadeDrum => ({
		...{ crackS: 540, dropS: 720 },
		rates: [...START, [540, 6], [590, 4], [620, 4], [660, 4 + step], [720, 4 + step]]
	});
	it('is a flick from its threshold of 2 C/min on, less what the lag of the probe hides', () => {
		const from = calledFrom('flick', (step) => late(Math.min(step, 3.5)));
		expect(from).toBeGreaterThanOrEqual(2);
		expect(from).toBeLessThanOrEqual(3);
	});
	it('is a runaway once it stands 2 C/min above the rate at first crack', () => {
		// The probe, 25 s late, shows about 6.9 C/min at the crack, where the beans are at 6: so 4 + step
		// has to pass 8.9 there.
		const from = calledFrom('runaway', (step) => late(step));
		expect(from).toBeGreaterThanOrEqual(4);
		expect(from).toBeLessThanOrEqual(5.5);
	});
	it('is a crash from its threshold of 3 C/min on, less what lag and windows hide', () => {
		// The trend before is 15 to 9.5 in 230 s: 1.08 C/min of the fall in 45 s are its own.
		const fall = (step: number): MadeDrum => ({
			...CLEAN,
			rates: [...START, [530, 9.5], [550, 9.5 - step], [660, 9.3 - step]],
			crackS: 530
		});
		const from = calledFrom('crash', (step) => fall(step));
		expect(from).toBeGreaterThanOrEqual(3);
		expect(from).toBeLessThanOrEqual(6);
	});
	it('is a stall from 30 s below 1.5 C/min on', () => {
		const low = (step: number): MadeDrum => ({
			rates: [
				...START,
				[330, 0.3],
				[330 + step * 20, 0.3],
				[370 + step * 20, 14],
				[680, 6],
				[760, 5]
			],
			...{ crackS: 690, dropS: 760 }
		});
		const from = calledFrom('stall', low);
		expect(from * 20).toBeGreaterThanOrEqual(20);
		expect(from * 20).toBeLessThanOrEqual(80);
	});
	it('is a probe lag from a lag of 55 s on, found within 5 s', () => {
		const from = calledFrom('probe lag', (step) => ({ ...CLEAN, lagS: 25 + step * 8 }));
		expect(25 + from * 8).toBeGreaterThanOrEqual(50);
		expect(25 + from * 8).toBeLessThanOrEqual(65);
	});
	it('is a scorching start from 40 C/min at the probe on', () => {
		const hot = (step: number): MadeDrum => ({
			...CLEAN,
			rates: [
				[0, 34 + 6 * step],
				[60, 34 + 6 * step],
				[120, 24],
				[300, 15],
				[540, 6],
				[660, 4.5]
			]
		});
		const from = calledFrom('scorching start', hot);
		// The probe's lag takes part of the early rate: the beans have to rise faster than it shows.
		expect(34 + 6 * from).toBeGreaterThanOrEqual(40);
		expect(34 + 6 * from).toBeLessThanOrEqual(80);
	});
});
