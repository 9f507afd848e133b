import { describe, expect, it } from 'vitest';
import { addWeeks } from '../quantity/week.ts';
import { releaseByMayFall, runOutRange, USUAL_SPREAD, useSpread } from './use.ts';

/** Blocks of four weeks, newest first, each week a quarter of its block, before 2026-W48. */
function weeks(...blocks: number[]): Map<string, number> {
	return new Map(
		blocks.flatMap((block, b) =>
			[1, 2, 3, 4].map((i) => [addWeeks('2026-W48', -(4 * b + i)), block / 4] as const)
		)
	);
}

describe('how use goes up and down', () => {
	it('1: is the spread of one block over the block before', () => {
		// By hand: logarithms of 2, 1/2, 2; their root mean square is ln 2.
		const found = useSpread(weeks(200, 100, 200, 100), '2026-W48', 16);
		expect(found.blocks).toBe(4);
		expect(found.spread).toBeCloseTo(Math.log(2), 12);
	});

	it('1: is nought where every block is alike', () => {
		expect(useSpread(weeks(80, 80, 80, 80), '2026-W48', 16).spread).toBe(0);
	});

	it('1: is the usual one with fewer blocks, a gap among them', () => {
		const usual = { spread: USUAL_SPREAD, blocks: 0 };
		expect(useSpread(weeks(80, 90, 100), '2026-W48', 12)).toEqual(usual);
		expect(useSpread(weeks(80, 90, 0, 100, 100, 100), '2026-W48', 24)).toEqual(usual);
	});
});

describe('where the date may fall', () => {
	const stock = {
		today: '2026-11-23',
		onHandG: 70_000,
		arrivals: [],
		needs: Array.from({ length: 30 }, (_, i) => ({
			week: addWeeks('2026-W48', i),
			greenG: 7000
		})),
		known: { from: '2026-W48', to: '2027-W24' }
	};

	it('2: is one day for certain without spread', () => {
		// By hand: 70 kg at 1 kg a day last 70 days, to 2027-02-01; five days before that.
		expect(releaseByMayFall(stock, 0, 5)).toEqual([{ day: '2027-01-27', chance: 1 }]);
	});

	it('2: is spread about the expected day, the chances summing to one', () => {
		const found = releaseByMayFall(stock, 0.3, 5);
		expect(found.reduce((sum, { chance }) => sum + chance, 0)).toBeCloseTo(1, 12);
		expect(found.find(({ day }) => day === '2027-01-27')?.chance).toBeCloseTo(1 / 9, 12);
		// By hand: the fastest of nine uses e^(.3 * 1.593219) as much, so 70 kg last 43 days.
		expect(found[0]!.day).toBe('2026-12-31');
		expect(found).toHaveLength(9);
	});

	it('2: is far off for stock that nothing asks for', () => {
		const [only] = releaseByMayFall({ ...stock, needs: [] }, 0.3, 5);
		expect(only!.day > '2028-01-01').toBe(true);
	});

	it('2: says between which days a stock runs out eight times in ten, what it takes over included', () => {
		// By hand, the fastest and the slowest of nine uses: e^(.3 * 1.593219) is 1.6128, so that 70 kg at
		// 1 kg a day last 43 whole days or 112.
		expect(runOutRange(stock, 0.3)).toEqual({ earliest: '2027-01-05', latest: '2027-03-15' });
		const later = [{ week: '2027-W25', greenG: 7000 }];
		const takesOver = { ...stock, needs: [], later };
		// Asked for nothing in the 30 known weeks, then 1 kg a day: 70 days from 2027-06-21.
		expect(runOutRange(takesOver, 0)).toEqual({ earliest: '2027-08-30', latest: '2027-08-30' });
		expect(runOutRange({ ...stock, needs: [] }, 0.3)).toEqual({ earliest: null, latest: null });
	});
});
