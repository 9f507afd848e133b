import { describe, expect, it } from 'vitest';
import { checkClose, firstOpenMonth, isClosed, nextMonth, postingInstant } from './period.ts';

const ZONE = 'Europe/London';
const NOW = Date.UTC(2026, 10, 25, 9);

describe('periods', () => {
	it('go on from month to month and year to year', () => {
		expect(['2026-01', '2026-02', '2026-12'].map(nextMonth)).toEqual([
			...['2026-02', '2026-03', '2027-01']
		]);
	});

	it('are closed with every month before them (rule 1)', () => {
		expect(firstOpenMonth([])).toBeNull();
		expect(firstOpenMonth(['2026-10', '2026-08'])).toBe('2026-11');
		expect(['2025-01-31', '2026-10-31', '2026-11-01'].map((d) => isClosed(d, ['2026-10']))).toEqual(
			[...[true, true, false]]
		);
		expect(isClosed('2020-01-01', [])).toBe(false);
	});

	it('let what comes late count from the next open one, on the site’s clock (rule 3)', () => {
		const before = Date.UTC(2026, 5, 30, 22, 59);
		expect(postingInstant(before, ['2026-06'], ZONE)).toBe(Date.UTC(2026, 5, 30, 23));
		expect(postingInstant(before, ['2026-05'], ZONE)).toBe(before);
		expect(postingInstant(before, [], ZONE)).toBe(before);
	});

	it.each([
		['2026-11', [], /not over yet, expected a month before 2026-11/],
		['2026-12', [], /not over yet/],
		['2026-09', ['2026-10'], /closed already; a closed month is not opened again/],
		['2026-10', ['2026-10'], /closed already/],
		['2026-13', [], /expected a month such as/],
		['October', [], /expected a month such as/]
	])('refuse to close %s after %j (rules 1, 2)', (month, closed, message) => {
		const outcome = checkClose(month, closed, NOW, ZONE);
		expect(outcome.ok ? '' : outcome.problems[0]?.message).toMatch(message);
	});

	it('close when they are over', () => {
		expect(checkClose('2026-10', ['2026-09'], NOW, ZONE)).toEqual({ ok: true, value: '2026-10' });
	});
});
