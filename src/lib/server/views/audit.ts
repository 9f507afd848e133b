import type { Day, InstantMs } from '#lib/domain/quantity/time.ts';
import { addDays, instantAt } from '#lib/domain/quantity/week.ts';
import type { Reader } from '../db/client.ts';
import { loadAuditChoices, loadAuditPage, type AuditEntry } from '../store/audit.ts';
import { requireSite } from '../store/site.ts';
import { detailText } from './acts.ts';
import { momentOf, type Moment } from './moment.ts';
import { lotHref } from './places.ts';

export const ACTS_ON_A_PAGE = 100;

/** As asked for in the address; an empty text asks for nothing. */
export interface AuditQuery {
	readonly q: string;
	readonly who: string;
	readonly act: string;
	readonly lot: string;
	readonly test: string;
	readonly from: Day;
	readonly to: Day;
	/** From 1. */
	readonly page: number;
}

export interface ActRow {
	readonly id: number;
	readonly at: Moment;
	/** The name on record. */
	readonly by: string;
	/** Who did it where that isn't the name on record: an import of somebody's records. */
	readonly doneBy: string | null;
	readonly act: string;
	readonly lot: { readonly code: string; readonly href: string } | null;
	readonly detail: string;
}

export interface AuditPage {
	readonly rows: readonly ActRow[];
	readonly total: number;
	readonly page: number;
	readonly names: readonly string[];
	readonly acts: readonly string[];
}

/** The acts that fit what was asked for, newest first. A day that is none asks for nothing. */
export async function loadAuditView(db: Reader, query: AuditQuery): Promise<AuditPage> {
	const [{ timeZone }, choices] = await Promise.all([requireSite(db), loadAuditChoices(db)]);
	const start = (day: Day): InstantMs | undefined =>
		/^\d{4}-\d{2}-\d{2}$/.test(day) && !Number.isNaN(Date.parse(day))
			? instantAt(day, 0, timeZone)
			: undefined;
	const fromMs = start(query.from);
	const toMs = start(query.to) === undefined ? undefined : start(addDays(query.to, 1));
	const filter = {
		...{ who: query.who, act: query.act, lot: query.lot, text: query.q },
		...(/^\d{1,6}$/.test(query.test) ? { test: Number(query.test) } : {}),
		...(fromMs === undefined ? {} : { fromMs }),
		...(toMs === undefined ? {} : { toMs })
	};
	const offset = (query.page - 1) * ACTS_ON_A_PAGE;
	const { total, entries } = await loadAuditPage(db, filter, { offset, limit: ACTS_ON_A_PAGE });
	return {
		...{ total, page: query.page, ...choices },
		rows: entries.map((entry) => actRow(entry, timeZone))
	};
}

function actRow({ id, at, by, actor, act, lotCode, detail }: AuditEntry, zone: string): ActRow {
	return {
		...{ id, act, by },
		doneBy: actor === '' || actor === by ? null : actor,
		at: momentOf(at, zone),
		lot: lotCode === null ? null : { code: lotCode, href: lotHref(lotCode) },
		detail: detailText(detail, zone)
	};
}
