import { formOf, type FormYear } from '#lib/domain/trial/panel.ts';
import { panelAgreement, type PanelAgreement } from '#lib/domain/trial/panelAgreement.ts';
import type { Reader } from '../../db/client.ts';
import { loadCuppings, loadSessions } from '../../store/cuppings.ts';
import { requireSite } from '../../store/site.ts';
import { momentOf, type Moment } from '../moment.ts';
import { sessionHref } from './coffee.ts';
import { panelSheet } from './session.ts';

/** How far the cuppers agree, by the blind sheets of closed sessions on one form. */
export interface PanelPage {
	readonly form: FormYear;
	readonly agreement: PanelAgreement;
	/** The sessions that it rests on, the newest first. */
	readonly tables: readonly (PanelAgreement['tables'][number] & {
		readonly name: string;
		readonly href: string;
		readonly closed: Moment;
	})[];
	/** Sheets left out because their cupper had looked at the key. */
	readonly notBlind: number;
	/** Forms that have sheets. */
	readonly forms: readonly FormYear[];
}

/** Agreement on one form; the form with most sheets where none is asked for. */
export async function loadPanelPage(db: Reader, asked: FormYear | null): Promise<PanelPage> {
	const [site, cuppings, sessions] = await Promise.all([
		requireSite(db),
		loadCuppings(db, { inSessions: true }),
		loadSessions(db)
	]);
	const count = (form: FormYear) => cuppings.filter(({ sheet }) => formOf(sheet) === form).length;
	const forms = (['2004', '2024'] as const).filter((form) => count(form) > 0);
	const form = asked ?? (count('2024') > count('2004') ? '2024' : '2004');
	const onForm = cuppings.filter(({ sheet }) => formOf(sheet) === form);
	const blind = onForm.filter(({ session }) => session!.wasBlind);
	const agreement = panelAgreement(blind.map(panelSheet));
	const byId = new Map(sessions.map((session) => [session.id, session]));
	return {
		...{ form, forms, agreement },
		tables: agreement.tables
			.map((table) => ({
				...table,
				name: byId.get(table.session)!.name,
				href: sessionHref(table.session),
				closed: momentOf(byId.get(table.session)!.closedAt!, site.timeZone)
			}))
			.toReversed(),
		notBlind: onForm.length - blind.length
	};
}
