import { describe, expect, it } from 'vitest';
import { CLEAN, FAULTY, START } from '#support/drumFaults.ts';
import { madeDrumLog, type MadeDrum } from '#support/drumLog.ts';
import { FAULT_NAMES, FAULT_RULES, type FaultName } from './faultRules.ts';
import { readDrum } from './read.ts';
import type { DrumReading } from './reading.ts';
import type { DrumSettingsGiven } from './settings.ts';

function read(made: MadeDrum, settings?: DrumSettingsGiven): DrumReading {
	const outcome = readDrum(madeDrumLog(made), {
		chargeG: null,
		outG: null,
		...(settings && { settings })
	});
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	return outcome.value;
}

function names(reading: DrumReading): FaultName[] {
	return reading.faults.map((fault) => fault.name);
}

describe('fault rules on made curves', () => {
	it('find nothing in the clean curve, and say that all were applied (D6)', () => {
		const reading = read(CLEAN);
		expect(reading.faults).toEqual([]);
		expect(reading.unchecked).toEqual([]);
		expect(reading.problems).toEqual([]);
	});

	it.each(FAULT_NAMES)('find just the %s in its curve', (name) => {
		expect(names(read(FAULTY[name]))).toEqual([name]);
	});

	it('say the same through the scatter of a usual probe', () => {
		for (let seed = 1; seed <= 12; seed++) {
			expect(names(read({ ...CLEAN, scatterC: 0.2, seed })), `seed ${seed}`).toEqual([]);
			for (const name of FAULT_NAMES) {
				const found = names(read({ ...FAULTY[name], scatterC: 0.2, seed }));
				expect(found, `seed ${seed}`).toEqual([name]);
			}
		}
	});

	it('give when, how much, data first and the thresholds used (D5)', () => {
		const [fault] = read(FAULTY.crash).faults;
		expect(fault!.fromS).toBeGreaterThan(500);
		expect(fault!.toS).toBe(fault!.fromS + 45);
		expect(fault!.toS).toBeLessThan(600);
		// The beans' own rate falls by 6.9; their trend of 5.5 / 230 s takes 1.1 of it in 45 s.
		expect(fault!.size).toBeGreaterThan(3);
		expect(fault!.size).toBeLessThan(6.9 - 1.1 + 0.2);
		expect(fault!.because[0]).toMatch(/^rate of rise falls from \d/);
		expect(fault!.because.at(-1)).toBe('3.0 C/min more within 45 s is called a crash');
		expect(fault!.thresholds).toEqual({ crashFallCMin: 3, crashWithinS: 45 });
	});

	it('place the low and the high of a flick, and the stretch of a stall', () => {
		const [flick] = read(FAULTY.flick).faults;
		expect(flick!.fromS).toBeGreaterThan(590);
		expect(flick!.fromS).toBeLessThan(650);
		expect(flick!.toS).toBeGreaterThan(660);
		const [stall] = read(FAULTY.stall).faults;
		expect(stall!.fromS).toBeGreaterThan(330);
		expect(stall!.toS).toBeLessThan(490);
		expect(stall!.size).toBe(stall!.toS - stall!.fromS);
	});

	it('name a cut of the gas beside a crash, or that gas is not known', () => {
		const gasPct = (timeS: Float64Array) => ({ gasPct: timeS.map((t) => (t < 525 ? 60 : 25)) });
		const told = (made: MadeDrum) => read(made).faults[0]!.because[1];
		expect(told({ ...FAULTY.crash, channels: gasPct })).toBe('gas was cut from 60 to 25 % by 8:45');
		const steady = (timeS: Float64Array) => ({ gasPct: timeS.map(() => 40) });
		expect(told({ ...FAULTY.crash, channels: steady })).toBe('gas was not cut');
		expect(told(FAULTY.crash)).toBe('gas is not in the log');
	});

	it('call a drum too hot by the probe at charge', () => {
		const [fault, ...others] = read({ ...CLEAN, startC: 240 }).faults;
		expect(others).toEqual([]);
		expect(fault).toMatchObject({ name: 'scorching start', unit: 'C', fromS: 0, toS: 0 });
		expect(fault!.size).toBeCloseTo(240, 6);
	});

	it('take the thresholds of the roaster', () => {
		expect(names(read(CLEAN, { thresholds: { probeLagS: 20 } }))).toEqual(['probe lag']);
		expect(names(read(CLEAN, { thresholds: { scorchRorCMin: 20 } }))).toEqual(['scorching start']);
		expect(names(read(FAULTY.crash, { thresholds: { crashFallCMin: 8 } }))).toEqual([]);
		expect(names(read(FAULTY.flick, { thresholds: { flickRiseCMin: 6 } }))).toEqual([]);
		expect(names(read(FAULTY.stall, { thresholds: { stallForS: 200 } }))).toEqual([]);
		expect(names(read(FAULTY.runaway, { thresholds: { runawayAboveCrackCMin: 12 } }))).toEqual([
			'flick'
		]);
	});
});

describe('fault rules that lack something (D6)', () => {
	const uncheckedOf = (reading: DrumReading) => reading.unchecked.map((fault) => fault.name);

	it('use the set bean temperature where nobody marked first crack, and say so', () => {
		const { crackS: _, ...made } = FAULTY.flick;
		const reading = read(made);
		expect(reading.marks.firstCrack).toBeNull();
		expect(names(reading)).toEqual(['flick']);
		expect(reading.faults[0]!.because[0]).toContain('at 185 C (first crack is not marked)');
	});
	it('are not applied to a batch that never came so far', () => {
		const reading = read({ rates: START, dropS: 340 });
		expect(uncheckedOf(reading)).toEqual(['crash', 'flick', 'runaway']);
		expect(reading.unchecked[0]!.because).toContain('do not pass 185 C');
	});
	it('are not applied through a scatter that hides them', () => {
		const reading = read({ ...CLEAN, scatterC: 3 });
		expect(uncheckedOf(reading)).toEqual(['stall', 'crash', 'flick', 'runaway']);
		expect(reading.unchecked[0]!.because).toMatch(/scatters by \d/);
	});
	it('are not applied without a turning point', () => {
		const reading = read({ ...CLEAN, startC: 22 });
		expect(reading.marks.turningPoint).toBeNull();
		expect(uncheckedOf(reading)).toEqual(['scorching start', 'probe lag', 'stall']);
	});
	it('are not applied where a drop soon after the crack leaves no rate of rise', () => {
		const reading = read({ ...CLEAN, crackS: 650 });
		expect(uncheckedOf(reading)).toEqual(['flick', 'runaway']);
	});
});

describe('the table of fault rules', () => {
	it('has every fault once, each threshold once, and no rule without a meaning', () => {
		expect(FAULT_RULES.map((rule) => rule.name)).toEqual(FAULT_NAMES);
		const keys = FAULT_RULES.flatMap((rule) => rule.thresholds.map(({ key }) => key));
		expect(new Set(keys).size).toBe(keys.length);
		expect(Object.keys(read(CLEAN).inputs.settings.thresholds).sort()).toEqual([...keys].sort());
		for (const rule of FAULT_RULES) {
			expect(rule.meaning).toMatch(/\.$/);
			expect(rule.thresholds.length).toBeGreaterThan(0);
		}
	});
});
