import { describe, expect, it } from 'vitest';
import type { StockCover } from './cover.ts';
import { releaseByOf } from './releaseBy.ts';

const cover: StockCover = {
	runOutDay: '2027-01-04',
	coverDays: 40,
	isBeyondKnown: false,
	carriedGPerWeek: 0,
	how: ['It lasts.']
};

describe('release-by date', () => {
	it('is the run-out day of the lot it replaces, less the lead days', () => {
		const answer = releaseByOf({
			neededOn: null,
			replaces: { code: 'ET-01', cover },
			leadDays: 7
		});
		expect(answer.releaseBy).toEqual({
			day: '2026-12-28',
			because: 'ET-01 runs out on 2027-01-04, less 7 days of lead time.'
		});
	});

	it('says when the run-out rests on carried demand', () => {
		const replaces = { code: 'ET-01', cover: { ...cover, isBeyondKnown: true } };
		const answer = releaseByOf({ neededOn: null, replaces, leadDays: 1 });
		expect(answer.releaseBy!.because).toBe(
			'ET-01 runs out on 2027-01-04 on demand carried on beyond what is known, less 1 day of lead time.'
		);
	});

	it('takes a day set by hand before the run-out day', () => {
		const answer = releaseByOf({
			neededOn: '2026-12-10',
			replaces: { code: 'ET-01', cover },
			leadDays: 3
		});
		expect(answer.releaseBy).toEqual({
			day: '2026-12-07',
			because: 'Needed on 2026-12-10, as set by hand, less 3 days of lead time.'
		});
	});

	it('is none, with the reason, when nothing says when the lot is needed', () => {
		const alone = releaseByOf({ neededOn: null, replaces: null, leadDays: 3 });
		expect(alone).toEqual({
			releaseBy: null,
			reason: 'Nothing says when it is needed: it replaces no lot and no day is set.'
		});
		const lasting = { code: 'ET-01', cover: { ...cover, runOutDay: null } };
		expect(releaseByOf({ neededOn: null, replaces: lasting, leadDays: 3 }).reason).toBe(
			'ET-01, which it replaces: It lasts.'
		);
	});

	it('refuses lead days that are none', () => {
		expect(() => releaseByOf({ neededOn: null, replaces: null, leadDays: -1 })).toThrow(
			'lead days'
		);
	});
});
