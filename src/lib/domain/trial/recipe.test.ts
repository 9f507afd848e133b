import { describe, expect, it } from 'vitest';
import { CLEAN } from '#support/drumFaults.ts';
import { madeDrumLog, type MadeDrum } from '#support/drumLog.ts';
import { readDrum } from '../drum/read.ts';
import { againstRecipe } from './againstRecipe.ts';
import { recipeChanges, recipeTarget, standardOf, standardProblems } from './recipe.ts';
import type { TestSettings } from './settings.ts';

function read(made: MadeDrum) {
	const outcome = readDrum(madeDrumLog(made), { chargeG: 10_000, outG: 8_550 });
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	return outcome.value;
}

const APPROVED = read(CLEAN);
const COLOUR = { value: 62, scale: 'house scale' };
const STANDARD = standardOf({
	...{ reading: APPROVED, chargeG: 10_000, outG: 8_550, colour: COLOUR },
	descriptors: 'plum, cocoa'
});
const SETTINGS: TestSettings = {
	...{ chargeG: 10_000, startC: 195, soakS: 30, drumRpm: 54 },
	gasSteps: [{ atS: 0, pct: 70 }],
	airSteps: [{ atS: 0, pct: 50 }]
};

describe('a recipe', () => {
	it('has the approved curve from its turning point on, every 5 s, and its marks (R1)', () => {
		const { target } = STANDARD;
		const turn = APPROVED.marks.turningPoint!.timeS;
		expect(target!.stepS).toBe(5);
		expect(target!.beanC[Math.floor((turn - 1) / 5)]).toBeNull();
		const at = Math.ceil(turn / 5);
		expect(target!.beanC[at]).toBeCloseTo(APPROVED.series.beanC[5 * at]!, 1);
		expect(target!.beanC).toHaveLength(Math.floor(660 / 5) + 1);
		expect(target!.marks.firstCrack!.timeS).toBe(540);
		expect(target!.marks.drop!.timeS).toBe(660);
	});
	it('of a test without a log has no target (R1), and the usual tolerances (R2)', () => {
		const bare = standardOf({
			...{ reading: null, chargeG: 10_000, outG: 8_550, colour: null },
			descriptors: ''
		});
		expect(bare).toEqual({
			...{ target: null, bandC: 3, markS: 15, markC: 2, lossLow: 0.135, lossHigh: 0.155 },
			...{ colour: null, descriptors: '' }
		});
	});
	it('names what is wrong with tolerances', () => {
		const paths = standardProblems({
			...{ ...STANDARD, bandC: 0, lossHigh: 0.1 },
			colour: { value: 60, scale: ' ', within: 0 }
		}).map(({ path }) => path);
		expect(paths).toEqual(['band_c', 'loss_high_pct', 'colour_scale', 'colour_within']);
		expect(standardProblems(STANDARD)).toEqual([]);
	});
	it('says what changed between versions, from both (R3)', () => {
		const before = { roasterName: 'A', settings: SETTINGS, standard: STANDARD, test: 2 };
		expect(recipeChanges(before, before)).toEqual([]);
		const after = {
			...{ ...before, test: 3, settings: { ...SETTINGS, soakS: 45 } },
			standard: { ...STANDARD, bandC: 2, lossHigh: 0.16, colour: null }
		};
		expect(recipeChanges(before, after).map((c) => `${c.label}: ${c.difference}`)).toEqual([
			'Approved test: 2 to 3',
			'Soak: 30 to 45 s',
			'Band: 3 °C either way to 2 °C either way',
			'Weight loss: 13.5 to 15.5 % to 13.5 to 16.0 %',
			'Colour: 62 on house scale, within 2 to none'
		]);
	});
});

describe('a batch against its recipe', () => {
	const batch = { reading: APPROVED, chargeRatio: 1, weightLoss: 0.145, colour: COLOUR };

	it('that is the approved test itself is wholly in the band, nothing off', () => {
		const held = againstRecipe(batch, STANDARD);
		expect(held.curve!.inBand).toBe(1);
		expect(Math.abs(held.curve!.meanOffC)).toBeLessThan(0.05);
		expect(held.marks.every((m) => m.time.isInside !== false)).toBe(true);
		expect(held.marks.find((m) => m.name === 'firstCrack')!.time).toMatchObject({ off: 0 });
		expect(held.loss).toMatchObject({ isInside: true });
		expect(held.loss.off).toBeCloseTo(0, 12);
		expect(held.colour).toEqual({ found: 62, wanted: 62, off: 0, isInside: true });
	});
	it('a known distance away is that far off, all of the time (A1)', () => {
		const beanC = APPROVED.series.beanC.map((v) => v! + 4);
		const moved = { ...APPROVED, series: { ...APPROVED.series, beanC } };
		const { curve } = againstRecipe({ ...batch, reading: moved }, STANDARD);
		expect(curve!.inBand).toBe(0);
		expect(curve!.meanOffC).toBeCloseTo(4, 1);
		expect(curve!.largestOffC).toBeCloseTo(4, 0);
		// From the turning point to the drop.
		expect(660 - curve!.comparedS).toBeGreaterThanOrEqual(APPROVED.marks.turningPoint!.timeS);
		expect(660 - curve!.comparedS).toBeLessThan(APPROVED.marks.turningPoint!.timeS + 5);
		const half = APPROVED.series.beanC.map((v, i) => v! + (i < 400 ? 0 : 4));
		const late = { ...APPROVED, series: { ...APPROVED.series, beanC: half } };
		const found = againstRecipe({ ...batch, reading: late }, STANDARD).curve!;
		const seconds = found.comparedS + 5;
		expect(found.inBand).toBeCloseTo((400 - (660 - found.comparedS)) / seconds, 2);
	});
	it('at the edge of a tolerance is inside, just past it outside', () => {
		const lossOf = (weightLoss: number) => againstRecipe({ ...batch, weightLoss }, STANDARD).loss;
		expect(lossOf(0.155).isInside).toBe(true);
		expect(lossOf(0.1551).isInside).toBe(false);
		const colourOf = (value: number) =>
			againstRecipe({ ...batch, colour: { ...COLOUR, value } }, STANDARD).colour;
		expect(colourOf(64).isInside).toBe(true);
		expect(colourOf(59.9).isInside).toBe(false);
	});
	it('without a log, or of a recipe without one, is judged by what there is (A2)', () => {
		const held = againstRecipe({ ...batch, reading: null }, STANDARD);
		expect(held.curve).toBeNull();
		expect(held.marks.map((m) => m.time.isInside)).toEqual([null, null, null, null]);
		expect(held.loss.isInside).toBe(true);
		expect(againstRecipe(batch, { ...STANDARD, target: null }).curve).toBeNull();
	});
	it('of another colour scale is not compared by colour, and says so (A3)', () => {
		const other = { value: 62, scale: 'the other meter' };
		const held = againstRecipe({ ...batch, colour: other }, STANDARD);
		expect(held.colour).toMatchObject({ found: 62, isInside: null, off: null });
		expect(held.colourBecause).toContain('the other meter');
	});
	it('of another charge is not judged by its turning point (A4)', () => {
		const turnOf = (chargeRatio: number) =>
			againstRecipe({ ...batch, chargeRatio }, STANDARD).marks[0]!;
		expect(turnOf(1.1).time.isInside).toBe(true);
		const { time, temperature } = turnOf(1.2);
		expect([time.isInside, temperature.isInside]).toEqual([null, null]);
	});
	it('that was dropped later is compared up to the drop of the recipe (A1)', () => {
		const longer = read({ ...CLEAN, dropS: 720 });
		const held = againstRecipe({ ...batch, reading: longer }, STANDARD);
		expect(held.curve!.inBand).toBe(1);
		expect(held.marks.at(-1)!.time).toMatchObject({ off: 60, isInside: false });
	});
	it('keeps a target that the reading alone gives', () => {
		expect(recipeTarget(APPROVED)).toEqual(STANDARD.target);
	});
});
