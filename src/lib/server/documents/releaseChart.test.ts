import { expect, test } from 'vitest';
import { releaseChart, type ReleaseCurve } from './releaseChart.ts';

/** A triangle of release with its peak at 60 s of 120, 10 mg/s high, bean from 100 to 220 °C. */
const timeS = Array.from({ length: 13 }, (_, i) => i * 10);
const curve: ReleaseCurve = {
	rateUnit: 'g/s',
	dropS: 120,
	earCrackS: 62,
	crack: {
		verdict: 'distinct',
		...{ onsetS: 50, peakS: 60, endS: 80, temperatureC: 160, temperatureFrom: 'bean' },
		...{ prominence: 0.5, sureness: 0.9, because: [] }
	},
	series: {
		timeS,
		rate: timeS.map((t) => (60 - Math.abs(t - 60)) / 6000),
		baseRate: timeS.map(() => 0.005),
		humidityRatioGKg: timeS.map(() => 10),
		absoluteHumidityGM3: null,
		beanC: timeS.map((t) => 100 + t),
		exhaustC: null
	}
};

/** The numbers of an attribute of every element of that name. */
function numbers(svg: string, name: string, attribute: string): number[] {
	return [...svg.matchAll(new RegExp(`<${name}[^>]* ${attribute}="([-\\d.]+)"`, 'g'))].map((m) =>
		Number(m[1])
	);
}

test('release is drawn in mg/s: its peak is where 10 of 10.8 mg/s lie, in the middle of the plot', () => {
	const path = /d="([^"]+)" fill="none" stroke="#111111" stroke-width="1.3"/.exec(
		releaseChart(curve)
	)![1]!;
	const points = path.split(/[ML]/).filter(Boolean);
	// x: 34 + 60/120 * 447 = 257.5; y: 160 - 10/10.8 * 134 = 35.9
	expect(points[6]).toBe('257.5 35.9');
	expect(points[0]).toBe('34 160');
	expect(points).toHaveLength(13);
});

test('the shaded band goes from onset to end of cracking', () => {
	const svg = releaseChart(curve);
	// x: 34 + 50/120 * 447 = 220.25; width: 30/120 * 447 = 111.75
	expect(numbers(svg, 'rect', 'x')).toEqual([220.3]);
	expect(numbers(svg, 'rect', 'width')).toEqual([111.8]);
});

test('marks are named with their times, axes with their units, lines in a legend', () => {
	const svg = releaseChart(curve);
	const texts = [...svg.matchAll(/<text[^>]*>([^<]*)<\/text>/g)].map((m) => m[1]);
	expect(texts).toEqual(
		expect.arrayContaining([
			...['first crack 1:00', 'heard 1:02', 'drop 2:00', 'release, mg/s', '°C'],
			...['release', 'release without the crack', 'bean, °C', '0:00', '1:00', '2:00']
		])
	);
	expect(texts).not.toContain('exhaust, °C');
});

test('without a crack there is neither band nor mark; a relative rate is in % a second', () => {
	const none = { ...curve.crack, verdict: 'none', onsetS: null, peakS: null, endS: null } as const;
	const svg = releaseChart({ ...curve, rateUnit: 'relative', crack: none, earCrackS: null });
	expect(svg).not.toContain('<rect');
	expect(svg).not.toContain('crack 1');
	expect(svg).toContain('release, % of all a second');
});

test('every number is finite and every mark has attributes of its own', () => {
	const flat = { ...curve, series: { ...curve.series, rate: timeS.map(() => 0) } };
	for (const svg of [releaseChart(curve), releaseChart(flat)]) {
		expect(svg).not.toMatch(/NaN|Infinity|undefined|class=|style=/);
	}
});
