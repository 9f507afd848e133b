import { describe, expect, it } from 'vitest';
import { presencesIn, windowsIn, type UsualWeek } from './hours.ts';

const usual: UsualWeek = {
	shifts: [{ roasterId: 1, weekday: 1, startMin: 420, endMin: 900 }],
	breaks: [],
	profiling: [],
	closures: [],
	overtimeMin: 0
};
/** Monday 2026-11-30. */
const WEEK = '2026-W49';
const at = (hour: number, minute = 0) => Date.UTC(2026, 10, 30, hour, minute);
const spans = (given: UsualWeek) =>
	windowsIn(given, WEEK, 'UTC').map(({ startMs, endMs }) => [startMs, endMs]);

describe('the staffed hours of a week', () => {
	it('1: a break cuts a shift and leaves the roaster warm', () => {
		const breaks = [{ roasterId: null, weekday: 1, startMin: 720, endMin: 750 }];
		const windows = windowsIn({ ...usual, breaks }, WEEK, 'UTC');
		expect(windows).toEqual([
			{ roasterId: 1, startMs: at(7), endMs: at(12), shiftStartMs: at(7) },
			{ roasterId: 1, startMs: at(12, 30), endMs: at(15), shiftStartMs: at(7) }
		]);
	});

	it('1: a break of another roaster or another day cuts nothing', () => {
		const breaks = [
			{ roasterId: 2, weekday: 1, startMin: 720, endMin: 750 },
			{ roasterId: null, weekday: 2, startMin: 720, endMin: 750 }
		];
		expect(spans({ ...usual, breaks })).toEqual([[at(7), at(15)]]);
	});

	it('2: a closure takes the shifts of its days, of its roaster or of all', () => {
		const closure = { fromDay: '2026-11-28', toDay: '2026-11-30' };
		expect(spans({ ...usual, closures: [{ ...closure, roasterId: null }] })).toEqual([]);
		expect(spans({ ...usual, closures: [{ ...closure, roasterId: 1 }] })).toEqual([]);
		expect(spans({ ...usual, closures: [{ ...closure, roasterId: 2 }] })).toHaveLength(1);
		expect(
			spans({ ...usual, closures: [{ ...closure, toDay: '2026-11-29', roasterId: null }] })
		).toHaveLength(1);
	});

	it('3: overtime follows the shift, until the next shift of that roaster at the latest', () => {
		const [window] = windowsIn({ ...usual, overtimeMin: 60 }, WEEK, 'UTC');
		expect(window).toMatchObject({ endMs: at(16), overtimeFromMs: at(15) });
		const late = { roasterId: 1, weekday: 1, startMin: 920, endMin: 1200 };
		const two = windowsIn(
			{ ...usual, shifts: [...usual.shifts, late], overtimeMin: 60 },
			WEEK,
			'UTC'
		);
		expect(two[0]).toMatchObject({ endMs: at(15, 20), overtimeFromMs: at(15) });
	});

	it('4: goes by the clock of the zone, over a clock change too', () => {
		// Clocks go back on 25 October 2026 at 03:00 in Central Europe.
		const sunday = { roasterId: 1, weekday: 7, startMin: 60, endMin: 300 };
		const [window] = windowsIn({ ...usual, shifts: [sunday] }, '2026-W43', 'Europe/Berlin');
		expect((window!.endMs - window!.startMs) / 3_600_000).toBe(5);
	});

	it('5: an extra shift of a day stands beside the usual ones, or makes one longer', () => {
		const extra = { kind: 'shift' as const, roasterId: 1, day: '2026-11-30' };
		const days = [{ ...extra, startMin: 1020, endMin: 1200 }];
		expect(spans({ ...usual, days })).toEqual([
			[at(7), at(15)],
			[at(17), at(20)]
		]);
		const longer = [{ ...extra, startMin: 900, endMin: 1080 }];
		const windows = windowsIn({ ...usual, days: longer, overtimeMin: 60 }, WEEK, 'UTC');
		expect(windows).toEqual([
			{
				...{ roasterId: 1, startMs: at(7), endMs: at(19), shiftStartMs: at(7) },
				overtimeFromMs: at(18)
			}
		]);
		const closures = [{ roasterId: null, fromDay: '2026-11-30', toDay: '2026-11-30' }];
		expect(spans({ ...usual, days, closures })).toEqual([[at(17), at(20)]]);
		expect(spans({ ...usual, days: [{ ...days[0]!, day: '2026-12-07' }] })).toHaveLength(1);
	});

	it('6: a stoppage cuts a shift, and the roaster is cold after it, over a break too', () => {
		const stoppage = { kind: 'stoppage' as const, roasterId: 1, day: '2026-11-30' };
		const days = [{ ...stoppage, startMin: 600, endMin: 660 }];
		const breaks = [{ roasterId: null, weekday: 1, startMin: 720, endMin: 750 }];
		const windows = windowsIn({ ...usual, breaks, days, overtimeMin: 60 }, WEEK, 'UTC');
		expect(windows).toEqual([
			{ roasterId: 1, startMs: at(7), endMs: at(10), shiftStartMs: at(7) },
			{ roasterId: 1, startMs: at(11), endMs: at(12), shiftStartMs: at(11) },
			{
				...{ roasterId: 1, startMs: at(12, 30), endMs: at(16), shiftStartMs: at(11) },
				overtimeFromMs: at(15)
			}
		]);
		const all = [{ ...stoppage, roasterId: null, startMin: 0, endMin: 1440 }];
		expect(spans({ ...usual, days: all })).toEqual([]);
		expect(spans({ ...usual, days: [{ ...all[0]!, roasterId: 2 }] })).toHaveLength(1);
		const end = [{ ...stoppage, startMin: 930, endMin: 1440 }];
		expect(windowsIn({ ...usual, days: end, overtimeMin: 60 }, WEEK, 'UTC')).toMatchObject([
			{ endMs: at(15, 30), overtimeFromMs: at(15) }
		]);
	});

	it('joins the hours of profiling; none kept means always', () => {
		expect(presencesIn(usual, WEEK, 'UTC')).toBe(null);
		const profiling = [
			{ weekday: 1, startMin: 600, endMin: 720 },
			{ weekday: 1, startMin: 540, endMin: 600 },
			{ weekday: 1, startMin: 780, endMin: 840 }
		];
		expect(presencesIn({ ...usual, profiling }, WEEK, 'UTC')).toEqual([
			{ startMs: at(9), endMs: at(12) },
			{ startMs: at(13), endMs: at(14) }
		]);
	});
});
