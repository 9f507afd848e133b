import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { saveBlend } from '#lib/server/commands/saveBlend.ts';
import { saveCostRate } from '#lib/server/commands/saveCostRate.ts';
import { saveDemand } from '#lib/server/commands/saveDemand.ts';
import { saveRoaster } from '#lib/server/commands/saveRoaster.ts';
import { saveShifts } from '#lib/server/commands/saveShifts.ts';
import { ACTS_ON_A_PAGE, loadAuditView, type AuditQuery } from '#lib/server/views/audit.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { owner, someone } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import {
	arrivedLot,
	done,
	RATE,
	ROASTER,
	SETTINGS,
	setUpRoastery
} from '#support/smallRoastery.ts';

/** Who did what and when can be found again, with what it was before. */

/** Wednesday 25 November 2026, 09:00 in London. */
const NOW = Date.UTC(2026, 10, 25, 9);
const DAY = 24 * 60 * 60_000;
const ANYTHING: AuditQuery = {
	...{ q: '', who: '', act: '', lot: '', test: '', from: '', to: '', page: 1 }
};

let db: TestDatabase;
let act: Act;
let roasterId: number;
let productId: number;
let lotId: number;

beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Nell') };
	({ roasterId, productId } = await setUpRoastery(act));
	lotId = await arrivedLot(act, 'A-1');
	await arrivedLot({ ...act, now: NOW - 3 * DAY, actor: someone('operations', 'Mo') }, 'A_2');
	const plan = { lotId, plannedAt: NOW, purpose: '50 % soak', change: '', roasterId };
	done(await perform(act, (deed) => planTest(deed, { ...plan, settings: SETTINGS })));
});
afterAll(() => db.remove());

const look = (query: Partial<AuditQuery>) =>
	loadAuditView(db.database.orm, { ...ANYTHING, ...query });
const acts = async (query: Partial<AuditQuery>) =>
	(await look(query)).rows.map(({ act: name, lot }) => `${name} ${lot?.code ?? ''}`.trim());

describe('the audit is searched', () => {
	it('by who', async () => {
		expect(await acts({ who: 'Mo' })).toEqual(['record received A_2', 'create lot A_2']);
		expect(await acts({ who: 'Nobody' })).toEqual([]);
	});
	it('by act, lot and test', async () => {
		expect(await acts({ act: 'create lot' })).toEqual(['create lot A-1', 'create lot A_2']);
		expect(await acts({ lot: 'A-1', act: 'record received' })).toEqual(['record received A-1']);
		expect(await acts({ lot: 'A-1', test: '1' })).toEqual(['plan test A-1']);
		expect(await acts({ lot: 'A-1', test: '2' })).toEqual([]);
	});
	it('by days of the site, both ends among them', async () => {
		const mo = { lot: 'A_2' };
		expect(await acts({ ...mo, from: '2026-11-22', to: '2026-11-22' })).toHaveLength(2);
		expect(await acts({ ...mo, from: '2026-11-23' })).toEqual([]);
		expect(await acts({ ...mo, to: '2026-11-21' })).toEqual([]);
		expect(await acts({ ...mo, from: 'soon', to: '2026-13-45' })).toHaveLength(2);
	});
	it('by text, whose signs stand for themselves', async () => {
		expect(await acts({ q: '50 % soak' })).toEqual(['plan test A-1']);
		expect(await acts({ q: 'A_2' })).not.toContain('create lot A-1');
		expect(await acts({ q: '%' })).toEqual(['plan test A-1']);
		expect(await acts({ q: "' or 1=1 --" })).toEqual([]);
		expect(await acts({ q: '\\' })).toEqual([]);
	});
	it('page by page, newest first', async () => {
		const all = await look({});
		expect(all.rows.map(({ id }) => id)).toEqual(
			all.rows
				.toSorted((a, b) => b.at.day.localeCompare(a.at.day) || b.id - a.id)
				.map(({ id }) => id)
		);
		expect(all.total).toBe(all.rows.length);
		expect((await look({ page: 2 })).rows).toEqual([]);
		expect(ACTS_ON_A_PAGE).toBeGreaterThan(all.total);
		expect(all.names).toEqual(expect.arrayContaining(['Mo', 'Nell']));
	});
});

describe('what was before and after', () => {
	const lastDetail = async (name: string) => (await look({ act: name })).rows[0]!.detail;

	it('of a new record is the record', async () => {
		expect(await lastDetail('save roaster')).toContain(`name ${ROASTER.name}`);
		expect(await lastDetail('save roaster')).not.toContain('→');
	});
	it('of a changed one is what changed, and nothing else', async () => {
		done(
			await perform(act, (deed) => saveRoaster(deed, { ...ROASTER, name: 'Drum B', warmUpMin: 41 }))
		);
		expect(await lastDetail('save roaster')).toBe(
			`code ${ROASTER.code}, name ${ROASTER.name} → Drum B, warm up min ${ROASTER.warmUpMin} → 41`
		);
	});
	it('of an order, a blend, shifts and rates is put in words', async () => {
		const order = { productId, week: '2026-W49' };
		done(await perform(act, (deed) => saveDemand(deed, { ...order, roastedG: 1000 })));
		done(await perform(act, (deed) => saveDemand(deed, { ...order, roastedG: 2500 })));
		expect(await lastDetail('save demand')).toBe('week 2026-W49, roasted g 1000 → 2500');
		const blend = { productId, fromDay: '2026-11-23', parts: [{ lotId, sharePermille: 1000 }] };
		done(await perform(act, (deed) => saveBlend(deed, blend)));
		expect(await lastDetail('save blend')).toBe('from day 2026-11-23, parts A-1 100 %');
		const shift = { weekday: 1, startMin: 360, endMin: 840 };
		done(await perform(act, (deed) => saveShifts(deed, roasterId, [shift])));
		expect(await lastDetail('save shifts')).toMatch(/shifts .*→ Mon 06:00-14:00$/);
		const dearer = { ...RATE, roasterId, labourMinorPerHour: 9999 };
		done(await perform(act, (deed) => saveCostRate(deed, dearer)));
		expect(await lastDetail('save cost rate')).toBe(
			`from day ${RATE.fromDay}, labour minor per hour ${RATE.labourMinorPerHour} → 9999`
		);
	});
});
