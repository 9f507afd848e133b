import { describe, expect, test } from 'vitest';
import { lineOf, packRows, placeLineLabels, textWidth } from './labels.ts';
import { lighten } from './lighten.ts';
import { areaPath, largest, linePath, nearestIndex, stepPath, timeTicks } from './path.ts';
import { hoursShown, pxPerMinute, stepped, type WeekDay } from './week.ts';

const same = (v: number) => v;
const GAP = Number.NaN;

describe('paths', () => {
	test('a line is rounded to a tenth of a pixel', () => {
		expect(linePath([0, 1], [1 / 3, 2 / 3], same, same)).toBe('M0,0.3L1,0.7');
	});

	test('a missing value parts the line', () => {
		expect(linePath([0, 1, 2, 3], [5, GAP, 6, 7], same, same)).toBe('M0,5M2,6L3,7');
		expect(linePath([], [], same, same)).toBe('');
	});

	test('a setting holds until the next and runs to the end', () => {
		expect(stepPath([0, 10, 20, 30], [50, 50, 70, 70], same, same)).toBe('M0,50H20V70H30');
		expect(stepPath([0, 10], [GAP, 40], same, same)).toBe('M10,40');
	});

	test('an area goes along the upper and back along the lower', () => {
		expect(areaPath([0, 1, 2], [0, 0, 0], [3, 4, GAP], same, same)).toBe('M0,3L1,4L1,0L0,0Z');
		expect(areaPath([0], [0], [1], same, same)).toBe('');
	});

	test.each([
		[-5, 0],
		[0.9, 0],
		[1.1, 1],
		[7, 2],
		[99, 3]
	])('nearest to %s', (x, index) => {
		expect(nearestIndex([0, 2, 5, 10], x)).toBe(index);
	});

	test('nearest in short lists', () => {
		expect(nearestIndex([], 3)).toBe(0);
		expect(nearestIndex([4], 3)).toBe(0);
	});

	test('largest skips what is missing', () => {
		expect(largest([1, GAP, 3])).toBe(3);
		expect(largest([GAP], 7)).toBe(7);
	});

	test('time marks keep their distance and stay inside', () => {
		expect(timeTicks(120, 400)).toEqual([0, 30, 60, 90, 120]);
		expect(timeTicks(480, 300)).toEqual([0, 120, 240, 360, 480]);
	});
});

test('a lightened series keeps five digits, gaps and what is absent', () => {
	const series = lighten({
		timeS: [0, 1],
		rate: [0.0213456789, Number.NaN],
		baseRate: [0, -0.0000123456789],
		humidityRatioGKg: [12.3456789, 8],
		absoluteHumidityGM3: [1, 2],
		beanC: null,
		exhaustC: [199.98765, 200]
	});
	expect(series.rate).toEqual([0.021346, Number.NaN]);
	expect(series.baseRate).toEqual([0, -0.000012346]);
	expect(series.exhaustC).toEqual([199.99, 200]);
	expect(series.beanC).toBeNull();
});

describe('labels', () => {
	test('labels that would touch take another row; the first keeps the nearest', () => {
		const packed = packRows(
			[
				{ text: 'first crack', x: 100 },
				{ text: 'onset', x: 90 },
				{ text: 'drop', x: 250 }
			],
			300
		);
		expect(packed.map((label) => label.row)).toEqual([0, 1, 0]);
	});

	test('labels stay inside the drawing', () => {
		const [left, right] = packRows(
			[
				{ text: 'charge', x: 0 },
				{ text: 'drop', x: 200 }
			],
			200
		);
		expect(left!.left).toBe(0);
		expect(right!.left + textWidth('drop')).toBe(200);
	});

	test('a line is labelled where no other line runs', () => {
		const xs = Array.from({ length: 301 }, (_, i) => i);
		const flat = lineOf(
			'flat',
			xs,
			xs.map(() => 100),
			same,
			300
		);
		const falling = lineOf(
			'falling',
			xs,
			xs.map((x) => 100 + (x - 50) * 0.5),
			same,
			300
		);
		const placed = placeLineLabels([flat, falling], 300, 200);
		expect(placed.map((label) => label.text)).toEqual(['flat', 'falling']);
		for (const label of placed)
			for (const line of [flat, falling]) {
				const half = textWidth(label.text) / 2;
				for (let x = label.x - half; x <= label.x + half; x += 1) {
					const y = line.yAt(x);
					expect(y < label.y - 9 || y > label.y).toBe(true);
				}
			}
	});

	test('a line hemmed in by others is left without a label', () => {
		const xs = [0, 300];
		const lines = [90, 95, 100, 105, 110].map((v) => lineOf(`at ${v}`, xs, [v, v], same, 300));
		const placed = placeLineLabels(lines, 300, 200).map((label) => label.text);
		expect(placed).not.toContain('at 100');
	});
});

describe('the week', () => {
	const day = (slots: readonly [number, number, string][]): WeekDay => ({
		day: '2026-11-23',
		label: 'Mon 23 Nov',
		roasters: [
			{
				name: 'drum A',
				windows: [{ fromMin: 390, toMin: 960 }],
				slots: slots.map(([fromMin, toMin, kind]) => ({
					fromMin,
					toMin,
					kind,
					label: '',
					detail: '',
					href: '/',
					late: false,
					locked: false,
					moveId: null
				}))
			}
		]
	});

	test('whole hours round every shift and slot', () => {
		expect(hoursShown([day([[950, 975, 'test']])])).toEqual({ fromMin: 360, toMin: 1020 });
		expect(hoursShown([])).toEqual({ fromMin: 480, toMin: 960 });
	});

	test('the shortest batch has room for two lines, within limits', () => {
		expect(pxPerMinute([day([[400, 420, 'test']])])).toBeCloseTo(1.7);
		expect(
			pxPerMinute([
				day([
					[400, 402, 'cleaning'],
					[402, 462, 'production']
				])
			])
		).toBe(1);
		expect(pxPerMinute([day([[400, 405, 'test']])])).toBe(2.3);
		expect(pxPerMinute([])).toBe(1);
	});

	test('a slot is put by steps of five minutes, and stays within the columns and the day', () => {
		const columns = [
			{ roaster: 'A', day: '2026-11-23' },
			{ roaster: 'B', day: '2026-11-23' }
		];
		const from = { ...columns[0]!, minute: 602 };
		expect(stepped(columns, from, 'ArrowDown')).toEqual({ ...columns[0], minute: 605 });
		expect(stepped(columns, from, 'ArrowRight')).toEqual({ ...columns[1], minute: 600 });
		expect(stepped(columns, from, 'ArrowLeft')).toEqual({ ...columns[0], minute: 600 });
		expect(stepped(columns, { ...from, minute: 0 }, 'ArrowUp')).toMatchObject({ minute: 0 });
		expect(stepped(columns, from, 'a')).toBe(null);
	});
});
