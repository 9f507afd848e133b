import type { ReleaseBy } from '../lot/lot.ts';
import type { Day } from '../quantity/time.ts';
import { addDays } from '../quantity/week.ts';
import type { StockCover } from './cover.ts';

/** The day by which a lot must be released, from the day production needs it. */

export interface ReleaseByFacts {
	/** A day that a person has set. */
	readonly neededOn: Day | null;
	/** The lot that this one takes over from. */
	readonly replaces: { readonly code: string; readonly cover: StockCover } | null;
	/** Days between a lot's release and the day production needs it; a setting of the site. */
	readonly leadDays: number;
}

export type ReleaseByAnswer =
	| { readonly releaseBy: ReleaseBy; readonly reason: null }
	| { readonly releaseBy: null; readonly reason: string };

/**
 * Needed-on day less the lead days, where the needed-on day is the one a person set, else the run-out day
 * of the lot it replaces.
 * @throws RangeError when the lead days are not a whole number from 0
 */
export function releaseByOf({ neededOn, replaces, leadDays }: ReleaseByFacts): ReleaseByAnswer {
	if (!Number.isInteger(leadDays) || leadDays < 0) {
		throw new RangeError(`lead days must be a whole number from 0, found ${leadDays}`);
	}
	const lead = `${leadDays} ${leadDays === 1 ? 'day' : 'days'} of lead time`;
	const from = (day: Day, because: string): ReleaseByAnswer => ({
		releaseBy: { day: addDays(day, -leadDays), because: `${because}, less ${lead}.` },
		reason: null
	});
	if (neededOn !== null) return from(neededOn, `Needed on ${neededOn}, as set by hand`);
	if (replaces === null) {
		return {
			releaseBy: null,
			reason: 'Nothing says when it is needed: it replaces no lot and no day is set.'
		};
	}
	const { code, cover } = replaces;
	if (cover.runOutDay === null) {
		return { releaseBy: null, reason: `${code}, which it replaces: ${cover.how.at(-1)}` };
	}
	const basis = cover.isBeyondKnown ? ' on demand carried on beyond what is known' : '';
	return from(cover.runOutDay, `${code} runs out on ${cover.runOutDay}${basis}`);
}
