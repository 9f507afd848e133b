import { describe, expect, it } from 'vitest';
import { simulateSample } from '#demo/simulate.ts';
import { LOT_KINDS, type LotKind } from '#lib/domain/lot/lot.ts';
import { contextOf } from '#support/crackAccuracy.ts';
import { driftedRoast } from '#support/driftLog.ts';
import { sampleContext, sampleLog, type SampleShape } from '#support/sampleLog.ts';
import { cumulativeTrapezoid } from '../curve/integrate.ts';
import { readSample } from './read.ts';
import type { CrackVerdict, ReadingContext, SampleReading } from './reading.ts';
import { shareBounds, sharesOf } from './shares.ts';
import { readingInWords, whatIsSeen } from './words.ts';
import { RULE_NAMES, type RuleName } from './wordRules.ts';

interface Made {
	/** Base release by seconds from charge, any unit. */
	readonly base?: (seconds: number) => number;
	/** Burst over base at the peak, and what the reading calls it. */
	readonly prominence?: number;
	readonly verdict?: CrackVerdict;
	readonly problems?: SampleReading['problems'];
	readonly sureness?: number;
	readonly endC?: number;
}

const DROP_S = 480;
const CRACK = { onsetS: 340, peakS: 370, endS: 400 };

/** Rises along a power of time up to the crack and stays there: 2 gives an eighth of it by half time. */
const rising = (power: number) => (s: number) => 0.016 * Math.min(1, s / CRACK.peakS) ** power;

/** A reading made by hand: a base, a bell of cracking on it, the shares that belong to it. */
function made(over: Made = {}): SampleReading {
	const { base = rising(1), verdict = 'distinct', endC = 216 } = over;
	const prominence = verdict === 'none' ? 0 : (over.prominence ?? (verdict === 'weak' ? 0.1 : 0.3));
	const grid = Float64Array.from({ length: DROP_S + 1 }, (_, i) => i);
	const baseRate = grid.map(base);
	const height = prominence * base(CRACK.peakS);
	const rate = baseRate.map((b, s) => b + height * Math.exp(-(((s - CRACK.peakS) / 14) ** 2) / 2));
	const beanC = grid.map((s) => 30 + (endC - 30) * (s / DROP_S) ** 0.7);
	const found = verdict !== 'none';
	const crack = found ? CRACK : { onsetS: null, peakS: null, endS: null };
	const bounds = shareBounds(grid, crack, beanC);
	const cumulative = cumulativeTrapezoid(grid, rate);
	return {
		method: 'made by hand',
		inputs: {
			pressurePa: 101_325,
			pressureFrom: 'given',
			airFlowGS: 4,
			sensorLagS: 8,
			sensorLagFrom: 'given',
			humidityFrom: 'humidityRhPct',
			humidityTemperatureFrom: 'sensorC',
			chargeG: 50,
			outG: 44,
			greenMoisturePct: 11,
			earCrackS: null
		},
		rateUnit: 'g/s',
		series: {
			timeS: [...grid],
			rate: [...rate],
			baseRate: [...baseRate],
			humidityRatioGKg: [...rate.map((r) => 8 + 250 * r)],
			absoluteHumidityGM3: null,
			beanC: [...beanC],
			exhaustC: null
		},
		crack: {
			...crack,
			verdict,
			temperatureC: null,
			temperatureFrom: found ? 'bean' : null,
			prominence: found ? prominence : null,
			sureness: 0.9,
			markSureness: found ? { onset: 0.8, peak: 0.9, end: 0.6 } : null,
			because: ['Made by hand.']
		},
		shares: sharesOf(grid, cumulative, bounds),
		shareBoundsS: bounds,
		developmentS: null,
		developmentRatio: null,
		dropS: DROP_S,
		dropTemperatureC: endC,
		weightLoss: 0.12,
		waterReleasedG: cumulative.at(-1)!,
		balance: null,
		problems: over.problems ?? [],
		sureness: over.sureness ?? 0.95
	};
}

const rulesOf = (reading: SampleReading) => readingInWords(reading).map(({ rule }) => rule);

const noise = { path: 'humidityRhPct', message: 'Signal too noisy: .5 points.' };
const unbalanced = { path: 'balance', message: 'The air carried off 9 g, 4 g were lost.' };

const off = { path: 'drift', message: 'After the drop the sensor reads .8 points above the room.' };

/** For each rule a curve that shows it and one, as like as can be, that doesn't. */
const CURVES: Readonly<Record<RuleName, { readonly does: Made; readonly doesNot: Made }>> = {
	'high late peak': { does: { prominence: 0.6 }, doesNot: { prominence: 0.4 } },
	'distinct late peak': { does: { prominence: 0.4 }, doesNot: { prominence: 0.6 } },
	'weak or absent peak': { does: { verdict: 'weak' }, doesNot: { verdict: 'distinct' } },
	'unclear peak': {
		does: { verdict: 'weak', prominence: 0.4 },
		doesNot: { verdict: 'weak', prominence: 0.1 }
	},
	'much release in the first half': { does: { base: rising(0.8) }, doesNot: { base: rising(1.2) } },
	'little at first, then a steep middle': {
		does: { base: rising(2) },
		doesNot: { base: rising(1.2) }
	},
	'even release throughout': {
		does: { base: rising(1.2) },
		// As much early, but the release goes on climbing to the drop.
		doesNot: { base: (s) => 0.016 * (s / CRACK.peakS) ** (s < 340 ? 1.2 : 5) }
	},
	'noisy signal': { does: { problems: [noise] }, doesNot: { problems: [unbalanced] } },
	'balance not closing': { does: { problems: [unbalanced] }, doesNot: { problems: [noise] } },
	'sensor off the room air': { does: { problems: [off] }, doesNot: { problems: [unbalanced] } },
	'roast ended before the crack': {
		does: { verdict: 'none', endC: 180 },
		doesNot: { verdict: 'none', endC: 216 }
	}
};

describe('each rule', () => {
	it.each(RULE_NAMES)('%s: is said of a curve that shows it, with evidence', (name) => {
		const reading = made(CURVES[name].does);
		const said = readingInWords(reading).find(({ rule }) => rule === name);
		expect(said).toBeDefined();
		expect(said!.says).not.toBe('');
		expect(said!.evidence).toMatch(/\d|Made by hand/);
		expect(said!.span.fromS).toBeGreaterThanOrEqual(0);
		expect(said!.span.toS).toBeGreaterThan(said!.span.fromS);
		expect(said!.span.toS).toBeLessThanOrEqual(reading.dropS);
		expect(said!.sureness).toBeGreaterThan(0.5);
		expect(said!.sureness).toBeLessThanOrEqual(1);
	});

	it.each(RULE_NAMES)("%s: isn't said of a curve that doesn't show it", (name) => {
		expect(rulesOf(made(CURVES[name].doesNot))).not.toContain(name);
	});

	it('needs all of its conditions: little at first without a steep middle says neither', () => {
		// Next to nothing up to nearly half the time, then level.
		const little = made({ base: (s) => (s < 150 ? 0.0002 : 0.01) });
		expect(whatIsSeen(little).quantities.earlyShare!).toBeLessThan(0.19);
		expect(whatIsSeen(little).quantities.middleGrowth!).toBeLessThan(3.2);
		expect(rulesOf(little)).toEqual(['distinct late peak']);
	});
});

describe('a statement', () => {
	it('shows its figures beside what the rule asks for, and where they are', () => {
		const said = readingInWords(made({ base: rising(2), prominence: 0.6 }));
		expect(said.map(({ rule }) => rule)).toEqual([
			'high late peak',
			'little at first, then a steep middle'
		]);
		// By hand: time squared leaves an eighth by half time and grows fourfold from there.
		expect(said[1]!.evidence).toContain(
			'before the crack begins at 340 s, 12.5 % had left by 170 s'
		);
		expect(said[1]!.evidence).toContain('(asked for: below 19 %)');
		expect(said[1]!.evidence).toMatch(/grows (4|4\.0\d|3\.9\d) times from 170 to 340 s/);
		expect(said[1]!.evidence).toContain('(asked for: 3.2 times or more)');
		expect(said[0]!.evidence).toContain('Burst over base: 60 % (asked for: 45 % or more)');
		expect(said[0]!.span).toEqual({ fromS: CRACK.onsetS, toS: CRACK.endS });
		expect(said[1]!.span).toEqual({ fromS: 170, toS: 340 });
	});

	it('is surer the further its figure lies from the threshold', () => {
		const sure = (prominence: number) => readingInWords(made({ prominence }))[0]!.sureness;
		expect(sure(0.45)).toBeCloseTo(0.45, 6);
		expect(sure(0.5)).toBeGreaterThan(sure(0.46));
		expect(sure(0.9)).toBeCloseTo(0.9, 6);
	});

	it('is never surer than the reading', () => {
		for (const { topic, sureness } of readingInWords(made({ sureness: 0.5, base: rising(2) }))) {
			expect(topic).not.toBe('limit');
			expect(sureness).toBeLessThanOrEqual(0.5);
		}
	});

	it('rule 4: what a limit hides is not said', () => {
		expect(rulesOf(made({ verdict: 'weak', problems: [noise] }))).not.toContain(
			'weak or absent peak'
		);
		expect(rulesOf(made({ verdict: 'none', endC: 180, base: rising(0.8) }))).toEqual([
			'roast ended before the crack'
		]);
	});

	it('comes without a crack too, over the span where cracks are usual', () => {
		const reading = made({ verdict: 'none' });
		const [said] = readingInWords(reading);
		expect(said!.rule).toBe('weak or absent peak');
		expect(said!.span).toEqual({
			fromS: reading.shareBoundsS.middle,
			toS: reading.shareBoundsS.around
		});
	});
});

describe('limits as a read log states them', () => {
	function read(shape: SampleShape, context: Partial<ReadingContext> = {}): SampleReading {
		const outcome = readSample(sampleLog(shape), sampleContext(context));
		if (!outcome.ok) throw new Error(outcome.problems[0]?.message);
		return outcome.value;
	}

	it('a noisy log is said to be noisy, a quiet one not', () => {
		expect(rulesOf(read({ noiseRhPct: 0.6 }))).toContain('noisy signal');
		expect(rulesOf(read({ noiseRhPct: 0.05 }))).not.toContain('noisy signal');
	});

	it('weights that belie the air are said, weights that agree not', () => {
		expect(rulesOf(read({}, { outG: 30 }))).toContain('balance not closing');
		expect(rulesOf(read({}, { outG: 47.1 }))).not.toContain('balance not closing');
	});

	it('a sensor that drifted is said to be off the room air, one that came back not', () => {
		const said = (driftRhPct: number) => {
			const roast = driftedRoast(0, driftRhPct, 150);
			const reading = readSample(roast.log, contextOf(roast));
			if (!reading.ok) throw new Error(reading.problems[0]?.message);
			return readingInWords(reading.value).find(({ rule }) => rule === 'sensor off the room air');
		};
		expect(said(0.8)!.evidence).toMatch(/reads 0\.\d+ points of relative humidity above/);
		expect(said(0)).toBeUndefined();
	});

	it("without any temperature a marked crack isn't said to be faint", () => {
		const blind = read({ without: ['beanC', 'exhaustC'] });
		expect(blind.crack.verdict).toBe('weak');
		expect(rulesOf(blind)).toContain('unclear peak');
	});

	it('a roast cut short is said to be', () => {
		expect(rulesOf(read({ seconds: 240, burstG: 0 }))).toContain('roast ended before the crack');
	});
});

/** What the middle lot of each simulated kind should be told, roasted the usual way. */
const OF_KIND: Readonly<Record<LotKind, readonly RuleName[]>> = {
	washed: ['high late peak', 'little at first, then a steep middle'],
	natural: ['distinct late peak', 'even release throughout'],
	honey: ['distinct late peak', 'even release throughout'],
	decaf: ['weak or absent peak', 'much release in the first half'],
	'old crop': ['distinct late peak', 'little at first, then a steep middle'],
	anaerobic: ['high late peak', 'much release in the first half']
};

describe('simulated lots of each kind', () => {
	it('a faint peak ends where the reading calls a crack distinct', () => {
		const roast = simulateSample({ kind: 'decaf', lot: 'middle', seed: 'words, decaf', lagS: 9 });
		const reading = readSample(roast.log, contextOf(roast));
		if (!reading.ok) throw new Error(reading.problems[0]?.message);
		const { evidence } = readingInWords(reading.value)[0]!;
		expect(evidence).toContain('A distinct crack rises 18 % or more.');
		expect(evidence).toContain('(asked for: below 18 %)');
	});

	it.each(LOT_KINDS)('the middle %s is told what the trade would expect', (kind) => {
		const roast = simulateSample({ kind, lot: 'middle', seed: `words, ${kind}`, lagS: 9 });
		const reading = readSample(roast.log, contextOf(roast));
		if (!reading.ok) throw new Error(reading.problems[0]?.message);
		expect(rulesOf(reading.value)).toEqual(OF_KIND[kind]);
	});
});
