import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { systemActor } from '#lib/domain/access/role.ts';
import { perform, type Act, type Deed } from '#lib/server/commands/act.ts';
import { closeCuppingSession } from '#lib/server/commands/closeCuppingSession.ts';
import { giveVerdict } from '#lib/server/commands/giveVerdict.ts';
import { lookAtCuppingKey } from '#lib/server/commands/lookAtCuppingKey.ts';
import { openCuppingSession, type TableCoffee } from '#lib/server/commands/openCuppingSession.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { recordSample } from '#lib/server/commands/recordSample.ts';
import { recordTestRoast } from '#lib/server/commands/recordTestRoast.ts';
import { saveProduct } from '#lib/server/commands/saveProduct.ts';
import { scoreCup } from '#lib/server/commands/scoreCup.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { recordMovement } from '#lib/server/commands/recordMovement.ts';
import { fieldsOfSheet, type SheetFields } from '#lib/server/imports/cuppingFields.ts';
import { loadCuppings } from '#lib/server/store/cuppings.ts';
import { loadTests } from '#lib/server/store/tests.ts';
import { loadPanelPage } from '#lib/server/views/cupping/panel.ts';
import { loadSampleCupping } from '#lib/server/views/cupping/samples.ts';
import { loadKey, loadSessionPage, loadSheetPage } from '#lib/server/views/cupping/session.ts';
import { loadTestPage } from '#lib/server/views/test.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import {
	CUPPED,
	demoLog,
	done,
	lotInput,
	PRODUCT,
	SETTINGS,
	setUpRoastery
} from '#support/smallRoastery.ts';

/** Blind cupping sessions from opening to what they leave on tests and samples. */

const NOW = Date.UTC(2026, 10, 25, 10, 0);
const HOUR = 3_600_000;
let made: TestDatabase;
let testBatchId: number;
let sampleId: number;
let lotId: number;

const by = (name: string, now = NOW): Act => ({
	database: made.database,
	now,
	actor: systemActor(name)
});
const as = <T>(name: string, work: (deed: Deed) => Promise<Outcome<T>>, now = NOW) =>
	perform(by(name, now), work);
/** Eight points of flavour score 85.25 in all; each point of flavour more or less moves it. */
const sheet = (flavour: number): SheetFields => fieldsOfSheet({ ...CUPPED, flavour });

beforeAll(async () => {
	made = await newDatabase();
	const act = by('Setup', NOW - 72 * HOUR);
	const { roasterId } = await setUpRoastery(act);
	({ lotId } = done(
		await perform(act, (deed) => createLot(deed, lotInput('L-305', { forProduct: PRODUCT.code })))
	));
	const entry = { at: act.now, kind: 'received', massG: 120_000, reason: '2 bags' };
	done(await perform(act, (deed) => recordMovement(deed, lotId, entry as never)));
	({ sampleId } = done(
		await perform(act, (deed) =>
			recordSample(deed, {
				...{ lotId, stage: 'arrival', roastedAt: act.now + HOUR, chargeG: 50, outG: 43 },
				...{ airFlowGS: 4, sensorLagS: null, earCrackS: null, note: '' },
				file: demoLog('samples/HR-133-arrival.csv')
			})
		)
	));
	({ testBatchId } = done(
		await perform(act, (deed) =>
			planTest(deed, {
				...{ lotId, roasterId, settings: SETTINGS, plannedAt: act.now + 2 * HOUR },
				...{ purpose: 'First batch', change: '' }
			})
		)
	));
	done(
		await perform(act, (deed) =>
			recordTestRoast(deed, {
				...{ testBatchId, roastedAt: NOW - 24 * HOUR, chargeG: 10_000, outG: 8_500 },
				...{ note: '', file: null }
			})
		)
	);
});

afterAll(() => made.remove());

let sessions = 0;

/** Opens a session; gives its id and the codes in the order of the coffees. */
async function open(coffees: readonly TableCoffee[], name = `Session ${++sessions}`) {
	return done(
		await as('Host', (deed) =>
			openCuppingSession(deed, { name, form: '2004', seed: 11, openedAt: NOW, coffees })
		)
	);
}

const score = (name: string, sessionId: number, code: string, fields: SheetFields, seen?: number) =>
	as(name, (deed) => scoreCup(deed, { sessionId, code, fields, savedAt: NOW }, seen ?? null));

const close = (sessionId: number, leaveOut = false) =>
	as('Host', (deed) => closeCuppingSession(deed, { sessionId, closedAt: NOW + HOUR, leaveOut }));

test('while a session is open nothing shows what a code stands for', async () => {
	const { sessionId, codes } = await open([{ testBatchId }, { sampleId }, { reference: 'House' }]);
	const db = made.database.orm;
	done(await score('Ada', sessionId, codes[0]!, sheet(8)));
	const shown = JSON.stringify([
		await loadSessionPage(db, sessionId, 'Ada'),
		await loadSheetPage(db, sessionId, codes[0]!, 'Ada'),
		await loadKey(db, sessionId, 'Ada')
	]);
	expect(shown).not.toMatch(/L-305|Lot L|House|arrival/);
	expect(await loadCuppings(db, { testBatchId })).toEqual([]);
	expect((await loadTestPage(db, NOW, 'L-305', 1))!.onTable).toHaveLength(1);
	// A lot 305 on the table: no cup is called 305.
	expect(codes.join(' ')).not.toContain('305');

	done(await as('Host', (deed) => lookAtCuppingKey(deed, sessionId)));
	expect(JSON.stringify(await loadKey(db, sessionId, 'Host'))).toContain('L-305 test 1');
	expect((await loadKey(db, sessionId, 'Ada'))!.cups).toBeNull();
	done(await close(sessionId));
	const closed = await loadSessionPage(db, sessionId, 'Ada');
	expect(JSON.stringify(closed)).toContain('L-305 test 1');
	expect(closed).toMatchObject({ state: 'closed', keySeenBy: ['Host'] });
});

test('closing leaves each finished sheet with its test or sample, read like any other', async () => {
	const { sessionId, codes } = await open([{ testBatchId }, { sampleId }]);
	done(await score('Ada', sessionId, codes[0]!, { ...sheet(8), descriptors: 'plum' }));
	done(await score('Bo', sessionId, codes[0]!, sheet(9)));
	done(await score('Ada', sessionId, codes[1]!, { ...sheet(7.5), descriptors: 'fig, plum' }));
	expect(done(await close(sessionId))).toEqual({ cuppings: 3, leftOut: 0 });
	const [record] = await loadTests(made.database.orm, { testBatchId });
	const own = record!.cuppings.filter(({ session }) => session?.id === sessionId);
	expect(own.map((one) => [one.by, one.descriptors])).toEqual([
		['Ada', 'plum'],
		['Bo', '']
	]);
	const sample = await loadSampleCupping(made.database.orm, sampleId, 'Europe/London');
	expect(sample.results).toMatchObject([{ form: '2004', mean: 84.75, cuppers: 1 }]);
	expect(sample.descriptors.map(({ word }) => word)).toEqual(['fig', 'plum']);
});

test('two cuppers score one cup at once, each on a sheet of their own', async () => {
	const { sessionId, codes } = await open([{ testBatchId }]);
	const names = ['Ada', 'Bo', 'Cy', 'Di'];
	const all = await Promise.all(
		names.map((name, i) => score(name, sessionId, codes[0]!, sheet(7 + i / 2), 0))
	);
	expect(all.every(({ ok }) => ok)).toBe(true);
	const page = await loadSessionPage(made.database.orm, sessionId, 'Bo');
	expect(page).toMatchObject({ state: 'open', cups: [{ state: 'finished', score: 84.75 }] });
	expect(page!.state === 'open' && page!.cuppers.map((one) => one.by)).toEqual(names);
});

test('a sheet changed elsewhere meanwhile is not overwritten unseen', async () => {
	const { sessionId, codes } = await open([{ testBatchId }]);
	const code = codes[0]!;
	expect(done(await score('Ada', sessionId, code, { flavour: '8' }, 0)).version).toBe(1);
	expect(done(await score('Ada', sessionId, code, { flavour: '8.25' }, 1)).version).toBe(2);
	for (const seen of [0, 1]) {
		const late = await score('Ada', sessionId, code, { flavour: '7' }, seen);
		expect(late).toMatchObject({ ok: false, problems: [{ path: 'version' }] });
	}
	const page = (await loadSheetPage(made.database.orm, sessionId, code, 'Ada'))!;
	expect(page.fields).toEqual({ flavour: '8.25' });
	// Sent twice for want of an answer: the same again is no conflict and no new version.
	expect(done(await score('Ada', sessionId, code, { flavour: '8.25' }, 1)).version).toBe(2);
});

test('a sheet is kept as far as it goes, and holds the closing up until it is left out', async () => {
	const { sessionId, codes } = await open([{ testBatchId }, { sampleId }]);
	done(await score('Ada', sessionId, codes[0]!, sheet(8)));
	done(await score('Ada', sessionId, codes[1]!, { flavour: '7', flavour_quarters: '.75' }));
	const begun = (await loadSheetPage(made.database.orm, sessionId, codes[1]!, 'Ada'))!;
	expect(begun.fields).toEqual({ flavour: '7.75' });
	expect(begun.missing).toContain('acidity');
	const held = await close(sessionId);
	expect(held).toMatchObject({ ok: false, problems: [{ path: `Ada, ${codes[1]}` }] });
	expect(done(await close(sessionId, true))).toEqual({ cuppings: 1, leftOut: 1 });
});

test('a closed session refuses sheets and a second closing', async () => {
	const { sessionId, codes } = await open([{ testBatchId }]);
	done(await score('Ada', sessionId, codes[0]!, sheet(8)));
	done(await close(sessionId));
	const late = await score('Bo', sessionId, codes[0]!, sheet(8));
	expect(late).toMatchObject({ ok: false, problems: [{ path: 'session' }] });
	expect((await close(sessionId)).ok).toBe(false);
	const own = await loadCuppings(made.database.orm, { sessionId });
	expect(own.map((one) => one.by)).toEqual(['Ada']);
});

test('a session with nothing on its table, or nothing scored, is refused', async () => {
	const empty = await as('Host', (deed) =>
		openCuppingSession(deed, { name: ' ', form: '2004', seed: 1, openedAt: NOW, coffees: [] })
	);
	expect(!empty.ok && empty.problems.map(({ path }) => path)).toEqual(['name', 'coffees']);
	const early = await as('Host', (deed) =>
		openCuppingSession(deed, {
			...{ name: 'Early', form: '2004', seed: 1, openedAt: NOW - 30 * HOUR },
			coffees: [{ testBatchId }]
		})
	);
	expect(early.ok).toBe(false);
	const { sessionId } = await open([{ testBatchId }]);
	expect(await close(sessionId, true)).toMatchObject({
		ok: false,
		problems: [{ path: 'session' }]
	});
});

test('sheets of whoever looked at the key are kept, but not for the panel’s agreement', async () => {
	const before = await loadPanelPage(made.database.orm, '2004');
	const { sessionId, codes } = await open([{ testBatchId }]);
	done(await as('Host', (deed) => lookAtCuppingKey(deed, sessionId)));
	done(await score('Host', sessionId, codes[0]!, sheet(8)));
	done(await score('Ada', sessionId, codes[0]!, sheet(8)));
	done(await close(sessionId));
	const after = await loadPanelPage(made.database.orm, '2004');
	expect(after.notBlind - before.notBlind).toBe(1);
	expect(after.agreement.sheets - before.agreement.sheets).toBe(1);
});

test('a verdict against the product’s rule asks for the reason, and keeps it', async () => {
	const verdictRule = { form: '2004', minScore: 95, maxSpread: null, noFaultCups: true } as const;
	done(await as('Host', (deed) => saveProduct(deed, { ...PRODUCT, verdictRule })));
	const page = (await loadTestPage(made.database.orm, NOW, 'L-305', 1))!;
	expect(page.rule).toMatchObject({ says: 'not met', checks: [{ holds: false }, { holds: true }] });
	const give = (againstReason: string | null, at = NOW) =>
		as('Host', (deed) =>
			giveVerdict(deed, {
				...{ testBatchId, at, verdict: 'approve', reason: 'Sweet', againstReason }
			})
		);
	expect(await give(null)).toMatchObject({ ok: false, problems: [{ path: 'against_reason' }] });
	done(await give('The panel was tired'));
	const judged = (await loadTestPage(made.database.orm, NOW, 'L-305', 1))!;
	expect(judged.verdict?.againstReason).toBe('The panel was tired');
});
