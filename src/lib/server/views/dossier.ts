import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Reader } from '../db/client.ts';
import { requireSite } from '../store/site.ts';
import { loadLotPage, type LotPage } from './lot.ts';
import { momentOf } from './moment.ts';
import { momentWords } from './words.ts';

/** A lot's page with what a paper adds: whose it is and when it was made. */
export interface Dossier {
	readonly siteName: string;
	/** `25 Nov 2026, 10:05`. */
	readonly madeAt: string;
	readonly lot: LotPage;
}

/** What the dossier of a lot is made from; null when there is no lot of that code. */
export async function loadDossier(
	db: Reader,
	now: InstantMs,
	code: string
): Promise<Dossier | null> {
	const site = await requireSite(db);
	const lot = await loadLotPage(db, now, code, { wholeLedger: false });
	return lot && { siteName: site.name, madeAt: momentWords(momentOf(now, site.timeZone)), lot };
}
