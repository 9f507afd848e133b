import { eq } from 'drizzle-orm';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { createLot } from '#lib/server/commands/createLot.ts';

import { fingerprint, measurement, sampleRoast } from '#lib/server/db/schema.ts';
import { loadComparison } from '#lib/server/views/comparison.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { recordSamples } from '#support/manySamples.ts';
import { done, lotInput, setUpRoastery } from '#support/smallRoastery.ts';

/** The samples of one lot over each other. */

const NOW = Date.UTC(2026, 10, 25, 9);

let db: TestDatabase;
let act: Act;
/** Offer, pre-shipment and arrival of lot L-HR-131: the first two logs are of the same demo lot. */
let ids: number[];
const compare = (earlier: number | null = null, later: number | null = null) =>
	loadComparison(db.database.orm, 'L-HR-131', { earlier, later });

beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Jo') };
	await setUpRoastery(act);
	ids = await recordSamples(act);
	const { orm, write } = db.database;
	const [first] = await orm.select().from(sampleRoast).where(eq(sampleRoast.id, ids[0]!));
	const stages = ['offer', 'pre-shipment', 'arrival'];
	await write(async (tx) => {
		for (const [i, id] of ids.entries())
			await tx
				.update(sampleRoast)
				.set({ lotId: first!.lotId, stage: stages[i]! })
				.where(eq(sampleRoast.id, id));
		// Pre-shipment is the offer's roast again but for its early share: .03 more.
		const [print] = await tx.select().from(fingerprint).where(eq(fingerprint.sampleId, ids[0]!));
		const features = print!.features as Record<string, number>;
		const moved = { ...features, earlyShare: features['earlyShare']! + 0.03 };
		await tx
			.update(fingerprint)
			.set({
				curve: print!.curve,
				knownFromC: print!.knownFromC,
				knownToC: print!.knownToC,
				features: moved
			})
			.where(eq(fingerprint.sampleId, ids[1]!));
	});
	const measured = {
		lotId: first!.lotId,
		at: NOW,
		waterActivity: null,
		densityGL: null,
		screen16UpPct: null,
		defectsPer300G: null
	};
	for (const [stage, moisturePct] of [
		['offer', 11],
		['pre-shipment', 10.4]
	] as const) {
		// Only the record: a reading anew would put the fingerprints back.
		await db.database.write((tx) =>
			tx.insert(measurement).values({ ...measured, stage, moisturePct, by: 'Jo', recordedAt: NOW })
		);
	}
});
afterAll(() => db.remove());

describe('samples of one lot', () => {
	it('come in the order of their stages; the last is set against the one before', async () => {
		const page = (await compare())!;
		expect(page.samples.map(({ stage }) => stage)).toEqual(['offer', 'pre-shipment', 'arrival']);
		expect([page.earlier!.id, page.later!.id]).toEqual([ids[1], ids[2]]);
		expect(page.curves.map(({ label }) => label)).toEqual(['pre-shipment', 'arrival', 'offer']);
	});

	it('differ where two roasts of one lot would not, and only there', async () => {
		const page = (await compare(ids[0]!, ids[1]!))!;
		// The prior: t(6) x sqrt(2) x .0077 = 2.447 x 1.4142 x .0077 = .02665.
		const early = page.figures[0]!;
		expect(early).toMatchObject({
			difference: expect.closeTo(3, 6),
			isOutside: true,
			limitFrom: 'prior'
		});
		expect(early.limit).toBeCloseTo(2.665, 2);
		expect(
			page.figures
				.slice(1)
				.every(({ isOutside, difference }) => !isOutside && (difference ?? 0) === 0)
		).toBe(true);
		expect(page.spans).toEqual([]);
		expect(page.differences).toHaveLength(1);
		expect(page.differences[0]).toMatch(
			/^Early share of the water went from .* two roasts of one lot lie within 2\.7\.$/
		);
		expect(page.because).toContain('assumed');
	});

	it('have their green measurements beside them, without a verdict', async () => {
		const page = (await compare(ids[0]!, ids[1]!))!;
		expect(page.measurements).toEqual([
			expect.objectContaining({
				label: 'Moisture',
				values: [11, 10.4, null],
				difference: expect.closeTo(-0.6, 9),
				limit: null,
				isOutside: false
			})
		]);
	});

	it('say why they cannot be compared', async () => {
		await db.database.write((tx) =>
			tx.update(fingerprint).set({ curve: null }).where(eq(fingerprint.sampleId, ids[2]!))
		);
		const page = (await compare())!;
		expect(page.whyNot).toBe('The arrival sample has no fingerprint: its page says why.');
		expect(page.differences).toEqual([]);
		done(await perform(act, (deed) => createLot(deed, lotInput('EMPTY'))));
		const empty = await loadComparison(db.database.orm, 'EMPTY', { earlier: null, later: null });
		expect(empty).toMatchObject({ samples: [], whyNot: expect.stringContaining('alone') });
		expect(
			await loadComparison(db.database.orm, 'NONE', { earlier: null, later: null })
		).toBeNull();
	});
});
