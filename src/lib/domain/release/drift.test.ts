import { describe, expect, it } from 'vitest';
import { contextOf } from '#support/crackAccuracy.ts';
import { driftedRoast } from '#support/driftLog.ts';
import { saturationPressurePa } from '../air/saturation.ts';
import { readSample } from './read.ts';
import type { ReadingContext, SampleReading } from './reading.ts';

function read(
	roast: ReturnType<typeof driftedRoast>,
	over: Partial<ReadingContext> = {}
): SampleReading {
	const outcome = readSample(roast.log, contextOf(roast, over));
	if (!outcome.ok) throw new Error(outcome.problems[0]?.message);
	return outcome.value;
}

const drifts = ({ problems }: SampleReading) =>
	problems.filter(({ path }) => path === 'drift').map(({ message }) => message);
const balances = ({ problems }: SampleReading) =>
	problems.filter(({ path }) => path === 'balance').map(({ message }) => message);

describe('a sensor that drifts in a log that goes on after the drop (rule 1)', () => {
	it.each([0.8, -0.8])('by %f points is found, with how much, and nothing is taken off', (by) => {
		const reading = read(driftedRoast(0, by, 150));
		const [message] = drifts(reading);
		const found = Number(/reads ([\d.]+) points/.exec(message!)![1]);
		expect(Math.abs(found - 0.8)).toBeLessThan(0.1);
		expect(message).toContain(by > 0 ? 'above the room air' : 'below the room air');
		expect(message).toContain(by > 0 ? 'Nothing is taken off' : 'Nothing is taken on');
		// The share it tells is what the drift really added.
		const share = Number(/about ([\d.]+) %/.exec(message!)![1]) / 100;
		const straight = read(driftedRoast(0, 0, 150));
		const added = reading.waterReleasedG! - straight.waterReleasedG!;
		expect(Math.abs(share - Math.abs(added) / reading.waterReleasedG!)).toBeLessThan(0.02);
		expect(reading.sureness).toBeLessThan(straight.sureness);
	});

	it('none is found in 12 logs without drift, nor is one of .6 points missed in 12', () => {
		let wrongly = 0;
		let missed = 0;
		for (let i = 0; i < 12; i++) {
			if (drifts(read(driftedRoast(i, 0, 150))).length > 0) wrongly++;
			if (drifts(read(driftedRoast(i, 0.6, 150))).length === 0) missed++;
		}
		expect({ wrongly, missed }).toEqual({ wrongly: 0, missed: 0 });
	});

	it('is told from a constant offset where the room air is given', () => {
		const roast = driftedRoast(1, 0.8, 150);
		const wet = roast.log.channels.humidityRhPct!.map((value) => value + 1.2);
		const log = { ...roast.log, channels: { ...roast.log.channels, humidityRhPct: wet } };
		const reading = read({ ...roast, log }, { roomHumidityGKg: roast.roomHumidityGKg });
		const found = Number(/reads ([\d.]+) points/.exec(drifts(reading)[0]!)![1]);
		expect(Math.abs(found - 0.8)).toBeLessThan(0.1);
		expect(reading.problems.some(({ message }) => message.startsWith('At charge'))).toBe(true);
	});

	it('may be a constant offset where the room air is not given, and is not called a drift then', () => {
		// The sensor starts in a room of 24 C and ends near 48 C, where 1.5 points are far more water.
		const wet = () => {
			const roast = driftedRoast(1, 0, 150);
			const { humidityRhPct, sensorC } = roast.log.channels;
			const at = (row: number) => Math.min(1, row / 20);
			const cool = sensorC!.map((celsius, row) => 24 + at(row) * (celsius - 24));
			const same = humidityRhPct!.map(
				(value, row) =>
					(value * saturationPressurePa(sensorC![row]!)) / saturationPressurePa(cool[row]!) + 1.5
			);
			const channels = { ...roast.log.channels, sensorC: cool, humidityRhPct: same };
			return { ...roast, log: { ...roast.log, channels } };
		};
		const [message] = drifts(read(wet()));
		expect(message).toContain("offset or drift, the log can't tell");
		expect(message).not.toContain('it drifted.');
		expect(message).toContain("give the room's humidity");
		const offset = Number(/tell: ([\d.]+) points of relative humidity too high/.exec(message!)![1]);
		expect(Math.abs(offset - 1.5)).toBeLessThan(0.15);
		// With the room air known, the offset shows at charge and is taken off: nothing is left to say.
		const known = wet();
		const told = read(known, { roomHumidityGKg: known.roomHumidityGKg });
		expect(drifts(told)).toEqual([]);
		expect(told.problems.some(({ message: said }) => said.startsWith('At charge'))).toBe(true);
	});

	it('is called a drift where no offset of a usual size would show the same', () => {
		const roast = driftedRoast(1, 0.8, 150);
		const told = read(roast, { roomHumidityGKg: roast.roomHumidityGKg });
		expect(drifts(told)[0]).toContain('started from: it drifted. If');
	});

	it('is not looked for before the vapour has left the sensor, nor where the air has not settled', () => {
		expect(drifts(read(driftedRoast(0, 0.8, 20)))).toEqual([]);
		const roast = driftedRoast(0, 0.8, 150);
		const values = roast.log.channels.humidityRhPct!;
		for (let row = values.length - 30; row < values.length; row++) values[row]! += 3;
		expect(drifts(read(roast))).toEqual([]);
	});
});

describe('a log that ends with the drop (rule 2)', () => {
	it('has the drift and the flow that would close its balance', () => {
		const [message] = balances(read(driftedRoast(0, 1.5, 0)));
		expect(message).toMatch(/an air flow [\d.]+ % off/);
		const by = Number(/drifted ([\d.]+) points of relative humidity up/.exec(message!)![1]);
		// To the edge of what is usual, so less than the drift that was put in.
		expect(by).toBeGreaterThan(0.3);
		expect(by).toBeLessThan(1.5);
	});
});
