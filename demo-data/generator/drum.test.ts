import { describe, expect, it } from 'vitest';
import { KIND_PARAMS } from './bean.ts';
import { LOT_KINDS } from '#lib/domain/lot/lot.ts';
import { DRUM_15, DRUM_60, gasStepsFor, simulateDrum, usualGoal } from './drum.ts';

const base = {
	chargeG: 12_000,
	startC: 195,
	soakS: 45,
	airSteps: [
		{ atS: 0, pct: 55 },
		{ atS: 300, pct: 65 }
	],
	drumRpm: 50
};

describe('a drum roast', () => {
	it.each(LOT_KINDS)('%s: goes as planned with its own gas steps', (kind) => {
		const params = KIND_PARAMS[kind];
		const gasSteps = gasStepsFor(params, DRUM_15, base, usualGoal(params));
		const settings = { ...base, gasSteps };
		const { truth, log, outG } = simulateDrum({ kind, seed: 1, settings, roaster: DRUM_15 });
		expect(Math.abs(truth.halfCrackedS - 602)).toBeLessThan(12);
		expect(Math.abs(truth.colourChangeS - 304)).toBeLessThan(20);
		expect(1 - outG / base.chargeG).toBeGreaterThan(0.1);
		expect(1 - outG / base.chargeG).toBeLessThan(0.17);
		const probe = log.channels.beanC ?? new Float64Array();
		const turning = probe.indexOf(Math.min(...probe));
		expect(log.timeS[turning]).toBeGreaterThan(50);
		expect(log.timeS[turning]).toBeLessThan(95);
		expect(log.marks.map((mark) => mark.name)).toEqual([
			'charge',
			'colourChange',
			'firstCrackEar',
			'drop'
		]);
	});

	it('takes the gas steps of an unlike lot badly and those of its own well', () => {
		const own = KIND_PARAMS.decaf;
		const gasSteps = gasStepsFor(KIND_PARAMS.washed, DRUM_60, base, usualGoal(KIND_PARAMS.washed));
		const roast = simulateDrum({
			kind: 'decaf',
			seed: 1,
			settings: { ...base, gasSteps },
			roaster: DRUM_60
		});
		const planned = usualGoal(own).find(([seconds]) => seconds === 560)?.[1] ?? NaN;
		const at560 = roast.log.timeS.indexOf(560);
		const missedBy = Math.abs((roast.log.channels.beanC?.[at560] ?? roast.truth.dropC) - planned);
		expect(missedBy).toBeGreaterThan(4);
	});

	it('is the same for the same seed', () => {
		const settings = { ...base, gasSteps: [{ atS: 0, pct: 62 }] };
		const options = { kind: 'honey' as const, seed: 4, settings, roaster: DRUM_15 };
		expect(simulateDrum(options)).toEqual(simulateDrum(options));
	});
});
