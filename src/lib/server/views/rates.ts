import { formatTrimmed } from '#lib/domain/quantity/decimal.ts';
import { firstOpenMonth } from '#lib/domain/ledger/period.ts';
import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { dayOf } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadClosedMonths, loadRates } from '../store/ledger.ts';
import { loadLots } from '../store/lots.ts';
import { requireSite } from '../store/site.ts';
import { loadLotCosts } from './costing.ts';
import { lotHref } from './places.ts';

export interface RateLine {
	readonly id: number;
	readonly day: Day;
	readonly from: string;
	readonly to: string;
	readonly rate: string;
	readonly source: string;
	readonly by: string;
	/** Whether a later entry for the same day and pair took its place. */
	readonly isCorrected: boolean;
}

export interface RatesView {
	readonly currency: string;
	/** The newest day first. */
	readonly rates: readonly RateLine[];
	readonly found: number;
	readonly all: number;
	/** Lots that can't be costed for want of a rate. */
	readonly missing: readonly {
		readonly code: string;
		readonly href: string;
		readonly message: string;
	}[];
	readonly openFrom: string | null;
	readonly form: Readonly<Record<string, string>>;
}

/** The table of exchange rates; `q` looks in day, pair and source. */
export async function loadRatesView(db: Reader, now: InstantMs, q: string): Promise<RatesView> {
	const site = await requireSite(db);
	const [rates, lots, costs, closed] = await Promise.all([
		loadRates(db),
		loadLots(db),
		loadLotCosts(db),
		loadClosedMonths(db)
	]);
	const newest = new Map(rates.map((row) => [`${row.day} ${row.from} ${row.to}`, row.id]));
	const lines = rates.map(({ rateE6, ...row }) => ({
		...{ id: row.id, day: row.day, from: row.from, to: row.to, source: row.source, by: row.by },
		rate: formatTrimmed(rateE6, 6, 2),
		isCorrected: newest.get(`${row.day} ${row.from} ${row.to}`) !== row.id
	}));
	const words = q.toLowerCase().split(/\s+/).filter(Boolean);
	const shown = lines
		.filter((line) => {
			const text = `${line.day} ${line.from} ${line.to} ${line.source}`.toLowerCase();
			return words.every((word) => text.includes(word));
		})
		.sort((a, b) => (a.day === b.day ? b.id - a.id : a.day < b.day ? 1 : -1));
	return {
		currency: site.currency,
		rates: shown,
		found: shown.length,
		all: lines.length,
		missing: lots.flatMap(({ id, code }) => {
			const problem = costs.get(id)?.problem;
			return problem ? [{ code, href: `${lotHref(code)}#terms`, message: problem.message }] : [];
		}),
		openFrom: firstOpenMonth(closed),
		form: { day: dayOf(now, site.timeZone), from: 'USD', to: site.currency }
	};
}
