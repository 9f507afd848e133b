import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { perform } from '#lib/server/commands/act.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { recordMovement } from '#lib/server/commands/recordMovement.ts';
import { saveBlend } from '#lib/server/commands/saveBlend.ts';
import { saveSupplierLead } from '#lib/server/commands/saveSupplierLead.ts';
import { daysBetween } from '#lib/domain/quantity/week.ts';
import { audit } from '#lib/server/db/schema.ts';
import { loadBlendParts } from '#lib/server/store/production.ts';
import { loadCoverPage } from '#lib/server/views/coverPage.ts';
import { loadMadeOf } from '#lib/server/views/madeOf.ts';
import { loadWeekProblem } from '#lib/server/views/planProblem.ts';
import { loadExport } from '#lib/server/views/export/all.ts';
import { loadSuppliersPage } from '#lib/server/views/suppliers.ts';
import { loadRoastery, type Roastery } from '#lib/server/views/roastery.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { fewLots } from '#support/fewLots.ts';
import { done } from '#support/smallRoastery.ts';

/**
 * The demo's SUNBED is made of HR-148, which HR-151 replaces, still in tests; FIRSTROW is made of HR-150,
 * which no lot of these replaces. Here HR-150 may stand in for HR-148.
 */

/** A Wednesday of 2026-W48. */
const NOW = Date.UTC(2026, 10, 25, 10, 2);
const ALL = { q: '', next: '', sort: null };

let db: TestDatabase;
let roastery: Roastery;

const act = () => ({ database: db.database, now: NOW, actor: owner('Test') });
const inThe = ({ lots }: Roastery, code: string) => lots.find(({ lot }) => lot.code === code)!;
const lotOf = (code: string) => inThe(roastery, code);
const productId = (code: string) => roastery.products.find((p) => p.code === code)!.id;

beforeAll(async () => {
	db = await newDatabase();
	const files = fewLots(['HR-148', 'HR-150', 'HR-151']);
	const blends = new TextDecoder()
		.decode(files.tables['blends.csv'])
		.replace(/^(.*HR-148,100),,,$/m, '$1,,,HR-150')
		.replace(/^(.*HR-150,100),,,$/m, '$1,,100,');
	const tables = { ...files.tables, 'blends.csv': new TextEncoder().encode(blends) };
	done(await importTables(act(), { ...files, tables }));
	roastery = await loadRoastery(db.database.orm, NOW);
}, 60_000);
afterAll(() => db.remove());

describe('the succession in the records', () => {
	it('comes in by CSV: a range and the lots that may stand in', async () => {
		const parts = await loadBlendParts(db.database.orm);
		const part = (code: string) => parts.find((p) => p.lotId === lotOf(code).lot.id);
		expect(part('HR-148')).toMatchObject({
			...{ leastPermille: null, mostPermille: null },
			substituteLotIds: [lotOf('HR-150').lot.id]
		});
		expect(part('HR-150')).toMatchObject({ mostPermille: 1000, substituteLotIds: [] });
	});

	it('takes SUNBED from HR-148, then from HR-151 once it is expected ready, and sums to the orders', () => {
		const own = roastery.succession.takes.filter((t) => t.productId === productId('SUNBED'));
		const [old, next] = [lotOf('HR-148'), lotOf('HR-151')];
		expect(own[0]).toMatchObject({ lotId: old.lot.id, role: 'named' });
		const later = own.filter(({ lotId }) => lotId === next.lot.id);
		expect(later.length).toBeGreaterThan(0);
		expect(later.every(({ role }) => role === 'successor')).toBe(true);
		expect(later[0]!.week >= '2026-W51').toBe(true);
		for (const { productId: id, week, roastedG } of roastery.demand) {
			const needs = roastery.needs.filter((n) => n.productId === id && n.week === week);
			if (needs.length === 0) continue;
			expect(needs.reduce((sum, need) => sum + need.roastedG, 0)).toBe(roastedG);
		}
	});

	it('gives cover, release-by and order-by days that follow', async () => {
		const [old, next, other] = [lotOf('HR-148'), lotOf('HR-151'), lotOf('HR-150')];
		expect(next.releaseBy?.releaseBy?.because).toContain(`runs out on ${old.cover.runOutDay}`);
		// The successor is asked for nothing before, so it lasts longer than its predecessor.
		expect(next.cover.runOutDay! > old.cover.runOutDay!).toBe(true);
		expect([old.orderBy, next.orderBy === null, other.orderBy === null]).toEqual([
			null,
			false,
			false
		]);
		const page = await loadCoverPage(db.database.orm, NOW, ALL);
		const days = page.lines.flatMap(({ orderBy }) => orderBy?.day ?? []);
		expect(days).toEqual(days.toSorted());
		expect(page.lines.find(({ code }) => code === 'HR-148')!.next).toMatchObject([
			{ code: 'HR-151', releaseBy: next.releaseBy!.releaseBy!.day }
		]);
		const found = await loadCoverPage(db.database.orm, NOW, { ...ALL, next: 'follows' });
		expect(found.lines.map(({ code }) => code)).toEqual(['HR-148']);
	});

	it('orders by the days of the supplier where they are known, else by those of the site', async () => {
		// The demo's importer nearby takes 21 days, the site 60.
		const other = lotOf('HR-150').orderBy!;
		expect(other.because).toContain('21 days from order to arrival from Norrowe Importers');
		const named = { supplier: 'Norrowe Importers' };
		const save = (leadDays: number | null, seen: number) =>
			perform(act(), (deed) => saveSupplierLead(deed, { ...named, leadDays }, seen));
		expect(await save(30, 7)).toMatchObject({ ok: false, problems: [{ path: 'version' }] });
		done(await save(null, 1));
		const usual = inThe(await loadRoastery(db.database.orm, NOW), 'HR-150').orderBy!;
		expect(daysBetween(usual.day, other.day)).toBe(60 - 21);
		expect(usual.because).toContain('60 days from order to arrival, ');
		done(await save(21, 0));
		const page = await loadSuppliersPage(db.database.orm, named.supplier);
		expect(page.open).toMatchObject({ ...named, lots: 3, leadDays: 21, isOwn: true });
		const file = await loadExport(db.database.orm, NOW, 'suppliers.csv');
		expect(file?.rows).toContainEqual(['Norrowe Importers', { digits: '21' }]);
	});

	it('plans the week from the lot that stands in, and says what is short', async () => {
		const { lot, events } = lotOf('HR-148');
		const spilt = {
			...{ at: NOW, massG: 2_000 - events.onHandG, reason: 'wet' },
			kind: 'written off' as const
		};
		done(await perform(act(), (deed) => recordMovement(deed, lot.id, spilt)));
		roastery = await loadRoastery(db.database.orm, NOW);
		const [sunbed, other] = [productId('SUNBED'), lotOf('HR-150').lot.id];
		const take = roastery.succession.takes.find((t) => t.productId === sunbed && t.lotId === other);
		expect(take).toMatchObject({ week: '2026-W48', role: 'substitute', partLotId: lot.id });
		const { problem } = await loadWeekProblem(db.database.orm, roastery, '2026-W48');
		const ofSunbed = problem.production.filter((need) => need.productId === sunbed);
		expect(ofSunbed.map(({ lotId }) => lotId).sort()).toEqual([lot.id, other].sort());
		expect(ofSunbed.find(({ lotId }) => lotId === other)!.greenG).toBe(take!.greenG);
		const made = await loadMadeOf(db.database.orm, NOW, { q: 'sunbed', short: '' });
		expect(made.parts[0]!.runs.slice(0, 2).map(({ code, role }) => [code, role])).toEqual([
			['HR-148', 'named'],
			['HR-150', 'substitute']
		]);
		expect((await loadMadeOf(db.database.orm, NOW, { q: 'nothing', short: '' })).parts).toEqual([]);
	});

	it('refuses a range without its share and a lot that stands in for itself; the audit has the words', async () => {
		const [lotId, other] = [lotOf('HR-148').lot.id, lotOf('HR-150').lot.id];
		const save = (part: object) =>
			perform(act(), (deed) =>
				saveBlend(deed, {
					...{ productId: productId('SUNBED'), fromDay: '2026-12-07' },
					parts: [
						{ lotId, sharePermille: 600, ...part },
						{ lotId: other, sharePermille: 400 }
					]
				})
			);
		const paths = async (part: object) => {
			const outcome = await save(part);
			return outcome.ok ? [] : outcome.problems.map(({ path }) => path);
		};
		expect(await paths({ leastPermille: 700 })).toEqual(['least_pct']);
		expect(await paths({ mostPermille: 500 })).toEqual(['most_pct']);
		expect(await paths({ substituteLotIds: [lotId] })).toEqual(['substitutes']);
		expect(await paths({ substituteLotIds: [other, other] })).toEqual(['substitutes']);
		expect(
			await paths({ leastPermille: 500, mostPermille: 700, substituteLotIds: [other] })
		).toEqual([]);
		const events = await db.database.orm.select().from(audit);
		expect(JSON.stringify(events.findLast((event) => event.act === 'save blend'))).toContain(
			'HR-148 60 % (50 to 70 %, or HR-150), HR-150 40 %'
		);
	});
});
