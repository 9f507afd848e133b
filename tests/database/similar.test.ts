import { eq, sql } from 'drizzle-orm';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { giveVerdict } from '#lib/server/commands/giveVerdict.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { recordCupping } from '#lib/server/commands/recordCupping.ts';
import { recordTestRoast } from '#lib/server/commands/recordTestRoast.ts';
import { fingerprint, lot, sampleRoast } from '#lib/server/db/schema.ts';
import { loadSimilar, type SimilarFilter } from '#lib/server/views/similar.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { copySamples, LOGS, recordSamples } from '#support/manySamples.ts';
import {
	arrivedLot,
	CUPPED,
	demoLog,
	done,
	lotInput,
	ROASTER,
	SETTINGS,
	setUpRoastery
} from '#support/smallRoastery.ts';

/** The most similar lots of a sample, with what became of them. */

const NOW = Date.UTC(2026, 10, 25, 9);
const DAY = 86_400_000;
const ANY: SimilarFilter = { kind: '', roaster: '', months: null };

let db: TestDatabase;
let act: Act;
let ids: number[];
const similar = (filter: Partial<SimilarFilter> = {}, sampleId = ids[0]!) =>
	loadSimilar(db.database.orm, NOW, sampleId, { ...ANY, ...filter });

beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Jo') };
	await setUpRoastery(act);
	ids = await recordSamples(act);
});
afterAll(() => db.remove());

describe('with few samples', () => {
	it('lists them by plain distance and says so', async () => {
		const page = await similar();
		expect(page.tooFew).toContain(`${LOGS.length} sample roasts`);
		expect(page.lots.map(({ lotCode }) => lotCode).sort()).toEqual(['L-HR-133', 'L-HR-140']);
		expect(page.lots.every(({ word, apart }) => word === null && apart! > 0)).toBe(true);
		expect(page.looked).toEqual({ samples: 2, lots: 2 });
		expect(page.bandFrom).toContain('No lot has been roasted twice');
	});
});

describe('with many samples', () => {
	/** Each copy gets a lot of its own and its curve stretched a little more than the one before. */
	beforeAll(async () => {
		await copySamples(db.database, 15);
		const samples = await db.database.orm.select().from(sampleRoast);
		for (const { id } of samples.filter((each) => !ids.includes(each.id))) {
			const kind = id % 2 === 0 ? 'natural' : 'washed';
			const made = await perform(act, (deed) => createLot(deed, lotInput(`C-${id}`, { kind })));
			const { lotId } = done(made);
			await db.database.write(async (tx) => {
				await tx
					.update(sampleRoast)
					.set({ lotId, roastedAt: NOW - id * 20 * DAY })
					.where(eq(sampleRoast.id, id));
				const [print] = await tx.select().from(fingerprint).where(eq(fingerprint.sampleId, id));
				const curve = new Float32Array(new Uint8Array(print!.curve!).buffer);
				const bent = curve.map((value, i) => value * (1 + 0.004 * id * Math.sin(i / 20)));
				await tx
					.update(fingerprint)
					.set({ curve: Buffer.from(bent.buffer), madeAt: NOW + id })
					.where(eq(fingerprint.sampleId, id));
			});
		}
	});

	it('finds the ten nearest other lots, nearest first, each once', async () => {
		const page = await similar();
		expect(page.tooFew).toBeNull();
		expect(page.lots).toHaveLength(10);
		expect(new Set(page.lots.map(({ lotCode }) => lotCode)).size).toBe(10);
		// The first copy of its own log, bent least of all.
		expect(page.lots[0]!.lotCode).toBe(`C-${ids[0]! + LOGS.length}`);
		const shares = page.lots.map(({ closerThan }) => closerThan!);
		expect(shares).toEqual(shares.toSorted((a, b) => b - a));
		expect(page.lots.some(({ lotCode }) => lotCode === 'L-HR-131')).toBe(false);
	});

	it('gives a lot with many samples one place', async () => {
		const [first] = await db.database.orm
			.select()
			.from(lot)
			.where(eq(lot.code, `C-${ids[0]! + LOGS.length}`));
		const crowd = (await similar()).lots
			.slice(1, 6)
			.map(({ sampleHref }) => Number(sampleHref.split('/')[2]));
		const before = await db.database.orm.select().from(sampleRoast);
		await db.database.write(async (tx) => {
			for (const id of crowd)
				await tx.update(sampleRoast).set({ lotId: first!.id }).where(eq(sampleRoast.id, id));
			await tx
				.update(fingerprint)
				.set({ madeAt: NOW + 1000 })
				.where(eq(fingerprint.sampleId, crowd[0]!));
		});
		const page = await similar();
		expect(page.lots).toHaveLength(10);
		expect(new Set(page.lots.map(({ lotCode }) => lotCode)).size).toBe(10);
		await db.database.write(async (tx) => {
			for (const { id, lotId } of before)
				await tx.update(sampleRoast).set({ lotId }).where(eq(sampleRoast.id, id));
			await tx
				.update(fingerprint)
				.set({ madeAt: NOW + 2000 })
				.where(eq(fingerprint.sampleId, crowd[0]!));
		});
	});

	it('filters by kind and by age', async () => {
		const naturals = await similar({ kind: 'natural' });
		expect(naturals.lots.length).toBeGreaterThan(0);
		expect(naturals.lots.every(({ lotKind }) => lotKind === 'natural')).toBe(true);
		const young = await similar({ months: 6 });
		expect(young.lots.length).toBeGreaterThan(0);
		expect(young.looked.samples).toBeLessThan((await similar()).looked.samples);
		const sixMonthsAgo = new Date(NOW - 183 * DAY).toISOString().slice(0, 10);
		expect(young.lots.every(({ roasted }) => roasted.day >= sixMonthsAgo)).toBe(true);
	});

	it('sees a fingerprint made anew at once', async () => {
		const nearestId = Number((await similar()).lots[0]!.sampleHref.split('/')[2]);
		await db.database.write((tx) =>
			tx
				.update(fingerprint)
				.set({ curve: null, madeAt: NOW + 5000 })
				.where(eq(fingerprint.sampleId, nearestId))
		);
		const places = (await similar()).lots.map(({ sampleHref }) => sampleHref);
		expect(places).not.toContain(`/samples/${nearestId}`);
	});

	it('says why a sample has nothing to be compared by', async () => {
		const problems = sql`'[{"path":"beanC","message":"No temperature."}]'`;
		await db.database.write((tx) =>
			tx
				.update(fingerprint)
				.set({ curve: null, problems, madeAt: NOW + 6000 })
				.where(eq(fingerprint.sampleId, ids[2]!))
		);
		expect(await similar({}, ids[2]!)).toMatchObject({
			whyNot: 'No temperature.',
			curve: null,
			lots: []
		});
	});
});

describe('what became of a similar lot', () => {
	it('is its tests, its recipe and what went wrong; a roaster filters', async () => {
		const target = (await similar()).lots[0]!;
		const [found] = await db.database.orm.select().from(lot).where(eq(lot.code, target.lotCode));
		expect(target).toMatchObject({
			testsRoasted: 0,
			testsToRelease: null,
			recipe: null,
			troubles: []
		});
		expect((await similar({ roaster: ROASTER.code })).lots).toEqual([]);

		const other = await arrivedLot(act, 'T-1');
		await db.database.write((tx) =>
			tx.update(sampleRoast).set({ lotId: other }).where(eq(sampleRoast.lotId, found!.id))
		);
		await db.database.write((tx) =>
			tx
				.update(fingerprint)
				.set({ madeAt: NOW + 7000 })
				.where(eq(fingerprint.sampleId, ids[1]!))
		);
		const verdicts = [
			['adjust', 'Flat', 'tests/HR-133-test-1.csv'],
			['approve', 'Sweet', null]
		] as const;
		for (const [index, [verdict, reason, file]] of verdicts.entries()) {
			const at = NOW - (20 - 5 * index) * 3_600_000;
			const acting = { ...act, now: at };
			const plan = {
				...{
					lotId: other,
					plannedAt: at,
					purpose: 'First',
					change: index === 0 ? '' : 'Longer soak'
				},
				roasterId: 1,
				settings: { ...SETTINGS, soakS: 30 + 15 * index }
			};
			const { testBatchId } = done(await perform(acting, (deed) => planTest(deed, plan as never)));
			const roast = {
				testBatchId,
				roastedAt: at,
				chargeG: 10_000,
				outG: 8_500,
				note: '',
				file: file && demoLog(file)
			};
			done(await perform(acting, (deed) => recordTestRoast(deed, roast as never)));
			const cup = { testBatchId, cuppedAt: at + 1, sheet: CUPPED, descriptors: 'plum', note: '' };
			done(await perform({ ...act, now: at + 1 }, (deed) => recordCupping(deed, cup as never)));
			const judged = { testBatchId, at: at + 2, verdict, reason };
			done(await perform({ ...act, now: at + 2 }, (deed) => giveVerdict(deed, judged as never)));
		}
		const now = (await similar({ roaster: ROASTER.code })).lots;
		expect(now.map(({ lotCode }) => lotCode)).toEqual(['T-1']);
		expect(now[0]).toMatchObject({
			lotStage: 'in review',
			testsRoasted: 2,
			testsToRelease: null,
			recipe: {
				version: 1,
				roasterName: ROASTER.name,
				soak: '45 s',
				gas: '0:00 70 %',
				air: '0:00 50 %'
			}
		});
		expect(now[0]!.troubles[0]).toMatchObject({
			label: 'test 1',
			href: '/tests/T-1/1',
			verdict: 'adjust',
			reason: 'Flat'
		});
	});
});
