import { cuppingScore } from '#lib/domain/trial/cupping.ts';
import { countDescriptors, type DescriptorCount } from '#lib/domain/trial/descriptors.ts';
import { formOf, panelResults, type FormYear, type PanelResult } from '#lib/domain/trial/panel.ts';
import { panelAgreement, type TableAgreement } from '#lib/domain/trial/panelAgreement.ts';
import type { Reader } from '../../db/client.ts';
import { readSheet } from '../../imports/cuppingFields.ts';
import {
	findSession,
	loadCuppings,
	loadCups,
	loadDescriptorTexts,
	loadKeySeen,
	loadSheets,
	type Cupping,
	type CupRecord,
	type CuppingSession,
	type SessionSheet
} from '../../store/cuppings.ts';
import { requireSite } from '../../store/site.ts';
import { momentOf, type Moment } from '../moment.ts';
import { coffeeName, sessionHref, sheetHref, type CoffeeName } from './coffee.ts';

/**
 * One cupping session. While it is open nothing here says what a code stands for; the key is a page of its
 * own, and looking at it is kept.
 */

interface SessionHead {
	readonly id: number;
	readonly href: string;
	readonly name: string;
	readonly form: FormYear;
	readonly opened: Moment & { readonly by: string };
	/** Who looked at the key while it was open. */
	readonly keySeenBy: readonly string[];
}

export type SheetState = 'not begun' | 'begun' | 'finished';

export interface OpenCup {
	readonly code: string;
	readonly href: string;
	/** Of the cupper who asks. */
	readonly state: SheetState;
	readonly score: number | null;
}

export interface OpenSession extends SessionHead {
	readonly state: 'open';
	readonly cups: readonly OpenCup[];
	readonly cuppers: readonly {
		readonly by: string;
		readonly finished: number;
		readonly begun: readonly string[];
	}[];
	/** Where the asker goes on: the first cup that is not finished; null when all are. */
	readonly nextHref: string | null;
}

export interface ClosedCup {
	readonly code: string;
	readonly coffee: CoffeeName;
	/** By the order of the cuppers; null where one has no sheet of it. */
	readonly scores: readonly (number | null)[];
	readonly result: PanelResult | null;
	readonly descriptors: readonly DescriptorCount[];
	readonly notes: readonly string[];
}

export interface ClosedSession extends SessionHead {
	readonly state: 'closed';
	readonly closed: Moment & { readonly by: string };
	readonly cuppers: readonly string[];
	/** The highest mean first. */
	readonly cups: readonly ClosedCup[];
	readonly ranks: TableAgreement | null;
}

/** A session as one cupper sees it; null when there is none of that id. */
export async function loadSessionPage(
	db: Reader,
	id: number,
	by: string
): Promise<OpenSession | ClosedSession | null> {
	const session = await findSession(db, id);
	if (!session) return null;
	const [site, cups, keySeenBy] = await Promise.all([
		requireSite(db),
		loadCups(db, id),
		loadKeySeen(db, id)
	]);
	const zone = site.timeZone;
	const head: SessionHead = {
		...{ id, href: sessionHref(id), name: session.name, form: session.form, keySeenBy },
		opened: { ...momentOf(session.openedAt, zone), by: session.openedBy }
	};
	if (session.closedAt === null) {
		const sheets = await loadSheets(db, id);
		return { ...head, state: 'open', ...openTable(session, cups, sheets, by) };
	}
	return {
		...head,
		state: 'closed',
		closed: { ...momentOf(session.closedAt, zone), by: session.closedBy ?? '' },
		...closedTable(cups, await loadCuppings(db, { sessionId: id }))
	};
}

type Sheet = SessionSheet & { readonly code: string };

function openTable(
	{ id, form }: CuppingSession,
	cups: readonly CupRecord[],
	sheets: readonly Sheet[],
	by: string
): Pick<OpenSession, 'cups' | 'cuppers' | 'nextHref'> {
	const read = sheets.map((sheet) => ({ ...sheet, filled: readSheet(form, sheet.fields) }));
	const own = cups.map(({ code }): OpenCup => {
		const sheet = read.find((each) => each.code === code && each.by === by);
		const state = !sheet ? 'not begun' : sheet.filled.ok ? 'finished' : 'begun';
		const score = sheet?.filled.ok ? cuppingScore(sheet.filled.value) : null;
		return { code, href: sheetHref(id, code), state, score };
	});
	return {
		cups: own,
		cuppers: [...Map.groupBy(read, (sheet) => sheet.by)].map(([cupper, theirs]) => ({
			by: cupper,
			finished: theirs.filter(({ filled }) => filled.ok).length,
			begun: theirs.flatMap(({ filled, code }) => (filled.ok ? [] : [code]))
		})),
		nextHref: own.find(({ state }) => state !== 'finished')?.href ?? null
	};
}

function closedTable(
	cups: readonly CupRecord[],
	cuppings: readonly Cupping[]
): Pick<ClosedSession, 'cuppers' | 'cups' | 'ranks'> {
	const cuppers = [...new Set(cuppings.map(({ by }) => by))].sort();
	const rows = cups.map((cup): ClosedCup => {
		const of = cuppings.filter(({ sessionCupId }) => sessionCupId === cup.id);
		const scoreOf = (by: string) => {
			const own = of.find((each) => each.by === by);
			return own ? cuppingScore(own.sheet) : null;
		};
		return {
			code: cup.code,
			coffee: coffeeName(cup),
			scores: cuppers.map(scoreOf),
			result: panelResults(of)[0] ?? null,
			descriptors: countDescriptors(of.map(({ descriptors }) => descriptors)),
			notes: of.filter(({ note }) => note !== '').map(({ by, note }) => `${by}: ${note}`)
		};
	});
	const { tables } = panelAgreement(cuppings.map(panelSheet));
	return {
		cuppers,
		cups: rows.sort((a, b) => (b.result?.mean ?? 0) - (a.result?.mean ?? 0)),
		ranks: tables[0] ?? null
	};
}

/** A cupping of a session as the panel's agreement takes it. Throws for a sheet of its own. */
export function panelSheet(one: Cupping) {
	if (!one.session || one.sessionCupId === null)
		throw new Error(`cupping ${one.id} is of no session`);
	return {
		session: one.session.id,
		cup: one.sessionCupId,
		coffee: one.coffee,
		cupper: one.by,
		score: cuppingScore(one.sheet),
		form: formOf(one.sheet)
	};
}

/** One cupper's sheet of one cup of an open session. */
export interface SheetPage {
	readonly session: { readonly id: number; readonly name: string; readonly href: string };
	readonly form: FormYear;
	readonly code: string;
	/** Place in the row of cups, from 1. */
	readonly place: number;
	readonly places: number;
	readonly previous: string | null;
	readonly next: string | null;
	readonly fields: Readonly<Record<string, string>>;
	/** 0 while there is none. */
	readonly version: number;
	/** Fields that are still missing or wrong; empty where it is finished. */
	readonly missing: readonly string[];
	readonly score: number | null;
	/** Words used before, the commonest first. */
	readonly words: readonly string[];
	/** Who closed the session; null while it is open. */
	readonly closedBy: string | null;
}

const MOST_WORDS = 60;

/** Null when there is no such session or cup. */
export async function loadSheetPage(
	db: Reader,
	sessionId: number,
	code: string,
	by: string
): Promise<SheetPage | null> {
	const session = await findSession(db, sessionId);
	if (!session) return null;
	const [cups, sheets, texts] = await Promise.all([
		loadCups(db, sessionId),
		loadSheets(db, sessionId),
		loadDescriptorTexts(db)
	]);
	const at = cups.findIndex((cup) => cup.code === code);
	if (at < 0) return null;
	const sheet = sheets.find((each) => each.code === code && each.by === by);
	const fields = sheet?.fields ?? {};
	const read = readSheet(session.form, fields);
	return {
		session: { id: sessionId, name: session.name, href: sessionHref(sessionId) },
		...{ form: session.form, code, fields },
		...{ place: at + 1, places: cups.length },
		previous: cups[at - 1]?.code ?? null,
		next: cups[at + 1]?.code ?? null,
		version: sheet?.version ?? 0,
		missing: read.ok ? [] : read.problems.map(({ path }) => path),
		score: read.ok ? cuppingScore(read.value) : null,
		words: countDescriptors(texts)
			.slice(0, MOST_WORDS)
			.map(({ word }) => word),
		closedBy: session.closedAt === null ? null : (session.closedBy ?? '')
	};
}

/** What the codes stand for, for whoever sets the table; null when there is no such session. */
export async function loadKey(db: Reader, sessionId: number, by: string) {
	const session = await findSession(db, sessionId);
	if (!session) return null;
	const [cups, seenBy] = await Promise.all([loadCups(db, sessionId), loadKeySeen(db, sessionId)]);
	const maySee = session.closedAt !== null || seenBy.includes(by);
	return {
		...{ id: sessionId, name: session.name, href: sessionHref(sessionId) },
		isClosed: session.closedAt !== null,
		seenBy,
		/** Null until this person has asked to see it. */
		cups: maySee
			? cups
					.toSorted((a, b) => a.place - b.place)
					.map((cup) => ({ code: cup.code, coffee: coffeeName(cup) }))
			: null
	};
}
