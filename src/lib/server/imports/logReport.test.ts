import { expect, test } from 'vitest';
import type { ReadingContext } from '#lib/domain/release/reading.ts';
import { reportLog, reportText } from './logReport.ts';

const context: ReadingContext = {
	chargeG: 50,
	outG: 43,
	greenMoisturePct: 11,
	airFlowGS: null,
	sensorLagS: 8,
	pressurePa: null,
	altitudeM: null,
	roomHumidityGKg: null
};

const bytesOf = (text: string) => new TextEncoder().encode(text);

/** Eight made-up minutes, a row a second: the bean rises evenly, humidity swells around the middle. */
function sampleText(change: (line: string, second: number) => string = (line) => line): string {
	const lines = Array.from({ length: 481 }, (_, s) => {
		const bean = 40 + s * 0.36;
		const humidity = 12 + 6 * Math.exp(-(((s - 330) / 120) ** 2));
		return change(
			[s, bean.toFixed(1), 45, humidity.toFixed(2), s === 480 ? 'Drop' : ''].join(';'),
			s
		);
	});
	return ['Time (s);Bean (°C);Humidity sensor (°C);RH (%);Event', ...lines].join('\n') + '\n';
}

test('a sample log: columns, units, marks, shares that sum to 100, and what it was read with', () => {
	const report = reportLog(bytesOf(sampleText()), 'a.csv', context);
	expect(report.problems).toEqual([]);
	const text = reportText(report);
	expect(text).toMatch(/Bean \(°C\) +beanC +°C +95 %/);
	expect(text).toMatch(/drop +8:00 min:s/);
	expect(text).toMatch(/charge +50 g/);
	expect(text).toMatch(/weight loss +14 %/); // (50 - 43) / 50
	const shares = [...text.matchAll(/^ {2}(?:early|middle|around the crack|after) +(\d+) %/gm)];
	expect(shares).toHaveLength(4);
	expect(shares.reduce((sum, match) => sum + Number(match[1]), 0)).toBe(100);
});

test('a bad cell: no reading, and the problem as the pages say it', () => {
	const bad = sampleText((line, s) => (s === 100 ? line.replace('45', 'warm') : line));
	const report = reportLog(bytesOf(bad), 'a.csv', context);
	expect(report.reading).toBeNull();
	expect(report.problems).toEqual(report.preview.problems);
	expect(reportText(report)).toContain(
		"a.csv, row 102, column 'Humidity sensor (°C)': found 'warm', expected a number in C"
	);
});

test('a drum log is shown without a release reading', () => {
	const text =
		'time,bean,gas %\n' +
		Array.from({ length: 40 }, (_, i) => `${i},${90 + i},60`).join('\n') +
		'\n';
	const report = reportLog(bytesOf(text), 'd.csv', context);
	expect(report).toMatchObject({ reading: null, problems: [] });
	expect(reportText(report)).toContain('d.csv: drum roast');
});
