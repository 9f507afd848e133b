import { describe, expect, it } from 'vitest';
import { humidityRatioFromRhGKg } from '../air/humidity.ts';
import { evenNoise, PRESSURE_PA, sampleLog } from '#support/sampleLog.ts';
import { absoluteFromRatio, humidityOf, noiseOf } from './humidity.ts';

const log = sampleLog();
const rows = log.timeS.length;
const even = (value: number) => new Float64Array(rows).fill(value);

function column(shape: Parameters<typeof sampleLog>[0] = {}) {
	const outcome = humidityOf(sampleLog(shape), PRESSURE_PA);
	if (!outcome.ok) throw new Error(outcome.problems[0]?.message);
	return outcome.value;
}

function problems(shape: Parameters<typeof sampleLog>[0]) {
	const outcome = humidityOf(sampleLog(shape), PRESSURE_PA);
	if (outcome.ok) throw new Error('the log was read');
	return outcome.problems;
}

const messages = (shape: Parameters<typeof sampleLog>[0]) =>
	column(shape).findings.map(({ problem }) => problem.message);

describe('the channel that is taken (rule 1)', () => {
	const ratio = column().ratioGKg;
	const absolute = Float64Array.from(absoluteFromRatio(ratio, log.channels.sensorC!, PRESSURE_PA));
	it('is relative humidity with the temperature at its sensor', () => {
		expect(column()).toMatchObject({ from: 'humidityRhPct', temperatureFrom: 'sensorC' });
		const rh = log.channels.humidityRhPct![100]!;
		expect(ratio[100]).toBe(humidityRatioFromRhGKg(rh, log.channels.sensorC![100]!, PRESSURE_PA));
	});
	it('is the humidity ratio before all others', () => {
		const found = column({ extra: { humidityRatioGKg: log.timeS.map((s) => 8 + s / 100) } });
		expect(found.from).toBe('humidityRatioGKg');
		expect(found.ratioGKg[100]).toBe(9);
	});
	it('is absolute humidity where relative humidity lacks its temperature', () => {
		const found = column({ extra: { humidityAbsGM3: absolute }, without: ['humidityRhPct'] });
		expect(found).toMatchObject({ from: 'humidityAbsGM3', temperatureFrom: 'sensorC' });
		expect(found.ratioGKg[200]).toBeCloseTo(ratio[200]!, 9);
		expect(column({ extra: { humidityAbsGM3: absolute }, without: ['sensorC'] }).from).toBe(
			'humidityAbsGM3'
		);
	});
	it('is relative humidity with the exhaust temperature at last, and that is said', () => {
		const shape = {
			without: ['sensorC'],
			extra: { humidityRhPct: log.timeS.map((s) => 1 + s / 400) }
		} as const;
		expect(column(shape)).toMatchObject({ from: 'humidityRhPct', temperatureFrom: 'exhaustC' });
		expect(messages(shape).join()).toContain('exhaust temperature is used');
	});
	it('is none without humidity, or without any temperature', () => {
		expect(problems({ without: ['humidityRhPct'] })[0]?.message).toContain('no humidity');
		expect(problems({ without: ['sensorC', 'exhaustC'] })[0]).toMatchObject({ path: 'sensorC' });
		expect(problems({ extra: { humidityRhPct: even(NaN) } })[0]?.message).toContain('no humidity');
	});
});

describe('impossible values (rule 2)', () => {
	it('are left out, with the rows, the reading and the ceiling', () => {
		const rh = log.channels.humidityRhPct!.slice();
		for (let i = 40; i < 50; i++) rh[i] = 130;
		rh[60] = 140;
		const found = column({ extra: { humidityRhPct: rh } });
		expect([...found.ratioGKg.subarray(39, 51)].map(Number.isNaN)).toEqual([
			false,
			...new Array<boolean>(10).fill(true),
			false
		]);
		const message = found.findings[0]?.problem.message;
		expect(message).toContain('rows 41-50 and 61 (11 of 421)');
		expect(message).toContain('140 % at 46.9 C, where at most 100 %');
	});
	it('name the ceiling above the boiling point', () => {
		const sensorC = even(150);
		const rh = log.timeS.map((s) => 1 + s / 400);
		rh[200] = 30;
		expect(messages({ extra: { sensorC, humidityRhPct: rh } })[0]).toContain('at most 21.3 %');
	});
	it('below 0 or without temperature are left out too', () => {
		const rh = log.channels.humidityRhPct!.slice();
		rh[3] = -1;
		const sensorC = log.channels.sensorC!.slice();
		sensorC[5] = 201;
		sensorC[6] = NaN;
		const found = column({ extra: { humidityRhPct: rh, sensorC } });
		expect([3, 5, 6].map((i) => found.ratioGKg[i])).toEqual([NaN, NaN, NaN]);
		expect(found.findings[0]?.problem.message).toContain('rows 4 and 6-7 (3 of 421)');
		expect(found.findings[0]?.problem.message).toContain('below 0');
	});
	it('in more than a quarter of the rows make the log unreadable', () => {
		const rh = log.channels.humidityRhPct!.map((value, i) => (i % 3 === 0 ? 130 : value));
		const [first, second] = problems({ extra: { humidityRhPct: rh } });
		expect(first?.message).toContain('280 of 421 rows');
		expect(second?.message).toContain('more than air can hold');
	});
});

describe('a sensor that fails (rule 3)', () => {
	it('by saturation is said with its span', () => {
		const rh = log.channels.humidityRhPct!.map((value, i) => (i >= 300 && i < 320 ? 100 : value));
		expect(messages({ extra: { humidityRhPct: rh } })[0]).toContain('saturated from 300 to 319 s');
	});
	it('by being stuck is said with its span', () => {
		const rh = log.channels.humidityRhPct!.map((value, i, all) =>
			i > 100 && i < 180 ? all[100]! : value
		);
		expect(messages({ extra: { humidityRhPct: rh } })[0]).toContain(
			'does not change from 101 to 179 s'
		);
	});
	it('all through can not be read', () => {
		const [problem] = problems({ extra: { humidityRatioGKg: even(8) } });
		expect(problem?.message).toContain('8 in every row');
	});
	it('never is not said of a good log', () => {
		expect(messages({})).toEqual([]);
	});
});

describe('noise of a channel', () => {
	it('is found under a slow change', () => {
		const next = evenNoise(0.25);
		const noisy = Float64Array.from({ length: 5000 }, (_, i) => Math.sin(i / 80) * 20 + next());
		expect(noiseOf(noisy) / 0.25).toBeCloseTo(1, 1);
	});
	it('is nought for a smooth, short or missing one', () => {
		expect(noiseOf([1, 2, 3, 4, 5, 6])).toBe(0);
		expect(noiseOf([1, 2])).toBe(0);
		expect(noiseOf([NaN, NaN, NaN, NaN, NaN])).toBe(0);
	});
});
