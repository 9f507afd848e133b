import { describe, expect, it } from 'vitest';
import { money } from '../quantity/money.ts';
import { type BatchInput, batchCost, netTestCost, netWords, workedLines } from './batch.ts';
import { checkRecoveries, type Recovery } from './recovery.ts';

const INPUT: BatchInput = {
	currency: 'GBP',
	greenG: 12_345,
	landedPerKgE4: 64_097,
	gas: { wh: 9_250, perKwhE4: 2_875, from: 'rate' },
	power: { wh: 1_204, perKwhE4: 2_419, from: 'meter' },
	labourMin: 20,
	labourPerHourMinor: 1_850,
	machineMin: 17.5,
	machinePerHourMinor: 4_200,
	depreciation: null,
	qualityMin: 45,
	qualityPerHourMinor: 2_400
};
const gbp = (minor: number) => money(minor, 'GBP');

describe('the cost of a batch', () => {
	it('works each line by hand and sums the lines (rules 1, 2, 4)', () => {
		const cost = batchCost(INPUT);
		expect(workedLines(cost).map((line) => [line.item, line.money.minor, line.howWorked])).toEqual([
			// 12.345 * 6.4097 = 79.1277...
			['green', 7_913, '12.345 kg at GBP 6.4097 a kg'],
			// 9.25 * .2875 = 2.659375
			['gas', 266, '9.25 kWh at GBP 0.2875 a kWh'],
			// 1.204 * .2419 = .2912...
			['power', 29, '1.204 kWh by meter at GBP 0.2419 a kWh'],
			// 18.50 / 3 = 6.1666...
			['labour', 617, '20 min at GBP 18.50 an hour'],
			['machine', 1_225, '17.5 min at GBP 42.00 an hour'],
			['quality', 1_800, '45 min at GBP 24.00 an hour']
		]);
		expect(cost.total).toEqual(gbp(11_850));
		expect(cost.machineS).toBe(1_050);
	});

	it('rounds a tie up where a float product falls below it', () => {
		// 1.005 kg at 1.0000 is 1.005; as a float 100.49999999999999 pence.
		const cost = batchCost({ ...INPUT, greenG: 1_005, landedPerKgE4: 10_000 });
		expect(cost.lines[0]?.money).toEqual(gbp(101));
	});

	it('adds straight-line depreciation to the machine hour, rounded with its line (rule 5)', () => {
		const depreciation = {
			...{ costMinor: 4_800_000, residualMinor: 600_000, lifeYears: 7, hoursPerYear: 1_800 }
		};
		// 17.5 min of 42.00 + 3.33333 an hour is 13.2222...; 12.25 + .97 rounded apart would be 13.22 too.
		const machine = workedLines(batchCost({ ...INPUT, depreciation }))[4]!;
		expect(machine.money).toEqual(gbp(1_322));
		expect(machine.howWorked).toBe(
			'17.5 min at GBP 42.00 an hour and GBP 3.3333 an hour of depreciation: GBP 48,000.00 less GBP 6,000.00 over 7 years of 1,800 hours'
		);
		const none = batchCost({ ...INPUT, depreciation: { ...depreciation, lifeYears: 0 } });
		expect(none.lines[4]!.money).toEqual(gbp(1_225));
		expect(() =>
			batchCost({ ...INPUT, depreciation: { ...depreciation, residualMinor: 4_800_001 } })
		).toThrow('residual');
	});

	it('throws on amounts that are none', () => {
		expect(() => batchCost({ ...INPUT, greenG: -1 })).toThrow('green grams');
		expect(() => batchCost({ ...INPUT, gas: { ...INPUT.gas, wh: Number.NaN } })).toThrow('gas');
		expect(() => batchCost({ ...INPUT, labourMin: -5 })).toThrow('minutes');
		expect(() => batchCost({ ...INPUT, machinePerHourMinor: -5 })).toThrow('Machine time');
		expect(() => batchCost({ ...INPUT, landedPerKgE4: -5 })).toThrow("can't be negative");
	});
});

const SOLD: Recovery = { kind: 'reduced', massG: 6_000, value: gbp(4_800) };
const GONE: Recovery = { kind: 'written off', massG: 4_000, value: gbp(0) };

describe('the net cost of a test', () => {
	it('is the batch less what its coffee brings in (rule 3)', () => {
		const net = netTestCost(batchCost(INPUT), [SOLD, GONE]);
		expect(net.recovered).toEqual(gbp(4_800));
		expect(net.net).toEqual(gbp(7_050));
		expect(netWords(net)).toBe('GBP 118.50 less 6 kg reduced GBP 48.00, 4 kg written off GBP 0.00');
		expect(netTestCost(batchCost(INPUT), []).net).toEqual(gbp(11_850));
	});

	it('may be below zero when the coffee sold for more than it cost', () => {
		const well = { ...SOLD, kind: 'full' as const, value: gbp(20_000) };
		expect(netTestCost(batchCost(INPUT), [well]).net).toEqual(gbp(-8_150));
	});
});

describe('checking recoveries', () => {
	it('takes all the coffee of the test and no more', () => {
		expect(checkRecoveries(10_000, [SOLD, GONE], 'GBP').ok).toBe(true);
		const outcome = checkRecoveries(9_999, [SOLD, GONE], 'GBP');
		expect(outcome.ok ? '' : outcome.problems[0]?.message).toBe(
			'10 kg is more than the 9.999 kg the test gave'
		);
	});

	it.each<[Recovery, string]>([
		[{ ...GONE, value: gbp(1) }, 'recoveries[0].value'],
		[{ ...SOLD, value: gbp(-1) }, 'recoveries[0].value'],
		[{ ...SOLD, value: money(1, 'USD') }, 'recoveries[0].value'],
		[{ ...SOLD, massG: 0 }, 'recoveries[0].massG']
	])('refuses %j', (recovery, path) => {
		const outcome = checkRecoveries(10_000, [recovery], 'GBP');
		expect(outcome.ok ? [] : outcome.problems.map((problem) => problem.path)).toEqual([path]);
	});
});
