import { describe, expect, it } from 'vitest';
import {
	ALIKE,
	constantRate,
	ours,
	scoreForecast,
	simulateLots,
	TELLING
} from '#support/testHistories.ts';
import { BLEND_FROM_LOTS, testsForecaster } from './forecast.ts';
import { testsOutlook } from './outlook.ts';

const history = (length: number) => simulateLots(TELLING, length, 'forecast test');
const asPast = (length: number) =>
	history(length).map(({ kind, tests }) => ({ kind, testsToRelease: tests }));

describe('the forecast of tests', () => {
	it('is the outlook by kind with few lots (rule 1)', () => {
		const lots = history(BLEND_FROM_LOTS - 1);
		const { readingWeight, ...found } = testsForecaster(lots).forecast(lots[0]!, 1, lots);
		expect(readingWeight).toBe(0);
		expect(found).toEqual(testsOutlook(asPast(BLEND_FROM_LOTS - 1), lots[0]!.kind, 1));
	});

	it('heeds the reading once it foretold left-out lots better (rule 2)', () => {
		const lots = history(200);
		const { readingWeight, forecast } = testsForecaster(lots);
		expect(readingWeight).toBeGreaterThan(0);
		const hard = { kind: 'washed', earlyShare: 0.45, crackProminence: 0.2 } as const;
		const easy = { kind: 'washed', earlyShare: 0.28, crackProminence: 0.6 } as const;
		const [longer, shorter] = [forecast(hard, 0, lots), forecast(easy, 0, lots)];
		expect(longer.mean).toBeGreaterThan(shorter.mean + 0.5);
		for (const { chances, chanceBeyond, mean } of [longer, shorter]) {
			const told = chances.reduce((sum, entry) => sum + entry.chance, 0);
			expect(told + chanceBeyond).toBeCloseTo(1, 9);
			const within = chances.reduce((sum, entry) => sum + entry.chance * entry.tests, 0);
			expect(mean).toBeGreaterThan(within);
		}
		expect(longer.basis).toContain(`count ${100 * readingWeight} %`);
	});

	it('leaves the reading out where lots are alike (rule 2)', () => {
		const weights = [1, 2, 3, 4, 5].map(
			(seed) => testsForecaster(simulateLots(ALIKE, 100, `alike ${seed}`)).readingWeight
		);
		expect(weights.filter((weight) => weight === 0).length).toBeGreaterThanOrEqual(3);
	});

	it('beats one rate for all where samples tell something', () => {
		const size = { histories: 5, fresh: 100, seed: 'unit' };
		const us = scoreForecast(TELLING, 100, size, ours);
		const them = scoreForecast(TELLING, 100, size, constantRate);
		expect(us.brier).toBeLessThan(them.brier);
		expect(us.logLoss).toBeLessThan(them.logLoss);
	});
});
