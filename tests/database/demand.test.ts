import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { STEPS_AHEAD } from '#lib/domain/demand/forecast.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { loadDemandPage, loadProductDemand } from '#lib/server/views/forecast.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { fewLots } from '#support/fewLots.ts';
import { done, setUpRoastery } from '#support/smallRoastery.ts';

/** The pages of demand, on the orders of the demo roastery and without any. */

/** A Wednesday of 2026-W48. */
const NOW = Date.UTC(2026, 10, 25, 10, 0);
const ALL = { q: '', against: '' };

describe('on the orders of the demo', () => {
	let db: TestDatabase;

	beforeAll(async () => {
		db = await newDatabase();
		done(
			await importTables(
				{ database: db.database, now: NOW, actor: owner('Test') },
				fewLots(['HR-149'])
			)
		);
	});
	afterAll(() => db.remove());

	const page = (now = NOW) => loadProductDemand(db.database.orm, now, 'MILKYARD');

	it('takes whole weeks as history and lays the weeks ahead beside their orders', async () => {
		const found = (await page())!;
		expect(found.weeks).toMatchObject({ historyTo: '2026-W47', from: '2026-W48', to: '2027-W06' });
		expect(found.past.at(-1)!.week).toBe('2026-W47');
		expect(found.past).toHaveLength(found.forecast!.weeks);
		expect(found.ahead.map(({ week }) => week).slice(4, 7)).toEqual([
			...['2026-W52', '2026-W53', '2027-W01']
		]);
		const pastG = found.past.slice(-8).reduce((sum, { orderedG }) => sum + orderedG, 0) / 8;
		expect(found.pastG).toBe(pastG);
		expect(found.ahead[0]!.expected).toEqual(found.forecast!.ahead[0]);
	});

	it('shows the forecast alone beyond the weeks with orders, and says where orders lie', async () => {
		const found = (await page())!;
		const { knownTo } = found.weeks!;
		const beyond = found.ahead.filter(({ week }) => week > knownTo);
		expect(beyond.length).toBeGreaterThan(0);
		for (const { orderedG, against } of beyond) expect([orderedG, against]).toEqual([null, null]);
		for (const { orderedG, expected, against } of found.ahead.filter((w) => w.week <= knownTo)) {
			const { low, high } = expected!.interval!;
			const place = orderedG! > high ? 'above' : orderedG! < low ? 'below' : 'within';
			expect(against).toBe(place);
		}
	});

	it('does not look at the orders ahead', async () => {
		const before = (await page())!;
		const later = (await page(NOW + 7 * 86_400_000))!;
		expect(later.weeks!.historyTo).toBe('2026-W48');
		expect(later.past.slice(0, -1)).toEqual(before.past);
		expect(later.past.at(-1)!.orderedG).toBe(before.ahead[0]!.orderedG);
	});

	it('counts from the last recorded week where the records stop', async () => {
		const found = (await page(Date.UTC(2027, 5, 1)))!;
		expect(found.weeks).toMatchObject({ stopsEarly: true, historyTo: found.weeks!.knownTo });
		expect(found.ahead).toHaveLength(STEPS_AHEAD);
		expect(found.ahead.every(({ orderedG }) => orderedG === null)).toBe(true);
	});

	it('narrows the list by its address', async () => {
		const list = async (filter: Partial<typeof ALL>) =>
			(await loadDemandPage(db.database.orm, NOW, { ...ALL, ...filter })).rows;
		expect((await list({ q: 'milk' })).map(({ code }) => code)).toEqual(['MILKYARD']);
		const all = await list({});
		const placed = await Promise.all(
			['above', 'within', 'below'].map((against) => list({ against }))
		);
		expect(placed.map((rows) => rows.length).reduce((a, b) => a + b)).toBe(all.length);
		for (const { against } of placed[0]!) expect(against).toBe('above');
	});

	it('knows no other product', async () => {
		expect(await loadProductDemand(db.database.orm, NOW, 'NONE')).toBeNull();
	});
});

it('has no weeks and no forecast before any order is recorded', async () => {
	const db = await newDatabase();
	await setUpRoastery({ database: db.database, now: NOW, actor: owner('Test') });
	const { weeks, rows } = await loadDemandPage(db.database.orm, NOW, ALL);
	expect(weeks).toBeNull();
	expect(rows.map(({ forecast }) => forecast)).toEqual([null]);
	const found = (await loadProductDemand(db.database.orm, NOW, rows[0]!.code))!;
	expect([found.past, found.ahead]).toEqual([[], []]);
	await db.remove();
});
