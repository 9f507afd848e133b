import { eq } from 'drizzle-orm';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { perform, type Act, type Deed } from '#lib/server/commands/act.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { giveVerdict } from '#lib/server/commands/giveVerdict.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { lockSlot, planWeek } from '#lib/server/commands/planWeek.ts';
import { recordCupping } from '#lib/server/commands/recordCupping.ts';
import { recordMeasurement } from '#lib/server/commands/recordMeasurement.ts';
import { recordMovement } from '#lib/server/commands/recordMovement.ts';
import { recordPriceTerms, type PriceTermsInput } from '#lib/server/commands/recordPriceTerms.ts';
import { recordProduction } from '#lib/server/commands/recordProduction.ts';
import { recordRecovery } from '#lib/server/commands/recordRecovery.ts';
import { recordSample } from '#lib/server/commands/recordSample.ts';
import { recordTestRoast } from '#lib/server/commands/recordTestRoast.ts';
import { releaseLot } from '#lib/server/commands/releaseLot.ts';
import { saveBlend } from '#lib/server/commands/saveBlend.ts';
import { saveCostRate } from '#lib/server/commands/saveCostRate.ts';
import { saveDemand } from '#lib/server/commands/saveDemand.ts';
import { saveProduct } from '#lib/server/commands/saveProduct.ts';
import { saveRoaster } from '#lib/server/commands/saveRoaster.ts';
import { saveShifts } from '#lib/server/commands/saveShifts.ts';
import { saveSite } from '#lib/server/commands/saveSite.ts';
import { saveWeekOrders } from '#lib/server/commands/saveWeekOrders.ts';
import { turnLot } from '#lib/server/commands/turnLot.ts';
import { withdrawTest } from '#lib/server/commands/withdrawTest.ts';
import { audit, slot } from '#lib/server/db/schema.ts';
import { loadSamples } from '#lib/server/store/logs.ts';
import { loadLotEvents, loadMovements, loadOnHandG } from '#lib/server/store/lots.ts';
import { loadProducts, loadSlots } from '#lib/server/store/production.ts';
import { loadRoasters, loadShifts, loadSite } from '#lib/server/store/site.ts';
import { loadRecipes, loadTests } from '#lib/server/store/tests.ts';
import { standing } from '#lib/domain/lot/standing.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, rowCounts, type TestDatabase } from '#support/database.ts';
import {
	arrivedLot,
	CUPPED,
	demoLog,
	done,
	lotInput,
	PRODUCT,
	RATE,
	ROASTER,
	SETTINGS,
	setUpRoastery,
	SITE
} from '#support/smallRoastery.ts';

/**
 * Every act does what it says, and every refusal names its field and writes nothing at all (act.ts,
 * rules 1 and 2).
 */

/** Wednesday 25 November 2026, 09:00 in London. */
const NOW = Date.UTC(2026, 10, 25, 9);
const WEEK = '2026-W48';
const HOUR = 3_600_000;

let db: TestDatabase;
let act: Act;
let roasterId: number;
let productId: number;

beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Ana') };
	({ roasterId, productId } = await setUpRoastery(act));
});
afterAll(() => db.remove());

type Verb = (deed: Deed) => Promise<Outcome<unknown>>;

async function refuses(verb: Verb, path: string, message: RegExp): Promise<void> {
	const before = await rowCounts(db.database);
	const outcome = await perform(act, verb);
	expect(outcome.ok ? outcome : outcome.problems).toContainEqual({
		path,
		message: expect.stringMatching(message) as string
	});
	expect(await rowCounts(db.database)).toEqual(before);
}

async function stageOf(lotId: number): Promise<string> {
	return standing((await loadLotEvents(db.database.orm, lotId)).get(lotId)!).stage;
}

async function testedLot(code: string): Promise<{ lotId: number; testBatchId: number }> {
	const lotId = await arrivedLot(act, code);
	const { testBatchId } = done(await perform(act, planned(lotId)));
	return { lotId, testBatchId };
}

function planned(lotId: number, over: object = {}) {
	const plan = { lotId, plannedAt: NOW, purpose: 'First batch', change: '', roasterId };
	return (deed: Deed) => planTest(deed, { ...plan, settings: SETTINGS, ...over });
}

function roasted(testBatchId: number, over: object = {}) {
	const roast = { testBatchId, roastedAt: NOW, chargeG: 10_000, outG: 8_550, note: '', file: null };
	return (deed: Deed) => recordTestRoast(deed, { ...roast, ...over });
}

function cupped(testBatchId: number, over: object = {}) {
	const cupping = { testBatchId, cuppedAt: NOW + 24 * HOUR, sheet: CUPPED };
	return (deed: Deed) =>
		recordCupping(deed, { ...cupping, descriptors: 'plum', note: '', ...over });
}

function judged(testBatchId: number, verdict: 'approve' | 'adjust' | 'reject', over: object = {}) {
	const given = { testBatchId, at: NOW + 25 * HOUR, verdict, reason: 'Sweet and clear' };
	return (deed: Deed) => giveVerdict(deed, { ...given, ...over });
}

function released(lotId: number, over: object = {}) {
	const facts = { lotId, at: NOW + 26 * HOUR, roastingBy: 'Owen', qualityBy: 'Ana' };
	return (deed: Deed) =>
		releaseLot(deed, { ...facts, descriptors: 'plum', priceMinorPerKg: 2_000, ...over });
}

async function releasedLot(code: string): Promise<number> {
	const { lotId, testBatchId } = await testedLot(code);
	for (const verb of [
		roasted(testBatchId),
		cupped(testBatchId),
		judged(testBatchId, 'approve'),
		released(lotId)
	])
		done(await perform<unknown>(act, verb));
	return lotId;
}

describe('perform', () => {
	it('writes the act, its audit line and nothing of a refusal that comes late', async () => {
		const before = await rowCounts(db.database);
		const outcome = await perform(act, async (deed) => {
			done(await createLot(deed, lotInput('LATE')));
			return createLot(deed, lotInput('LATE'));
		});
		expect(outcome.ok).toBe(false);
		expect(await rowCounts(db.database)).toEqual(before);
	});

	it('rolls back and throws when an invariant breaks', async () => {
		const before = await rowCounts(db.database);
		const broken = perform(act, async (deed) => {
			done(await createLot(deed, lotInput('BROKEN')));
			throw new Error('broken');
		});
		await expect(broken).rejects.toThrow('broken');
		expect(await rowCounts(db.database)).toEqual(before);
	});

	it('runs acts at the same time one after the other', async () => {
		const lotId = await arrivedLot(act, 'MANY');
		const entry = { at: NOW, kind: 'sold green', massG: -50_000, reason: 'Sold' } as const;
		const outcomes = await Promise.all(
			[1, 2, 3].map(() => perform(act, (deed) => recordMovement(deed, lotId, entry)))
		);
		expect(outcomes.map((o) => o.ok)).toEqual([true, true, false]);
		expect(await loadOnHandG(db.database.orm, lotId)).toBe(20_000);
	});
});

describe('setting up', () => {
	it('changes the site for a writer who saw it, and tells one who saw an older one', async () => {
		const seen = (await loadSite(db.database.orm))!.version;
		const first = { ...SITE, altitudeM: 25 };
		done(await perform(act, (deed) => saveSite(deed, first, seen)));
		await refuses(
			(deed) => saveSite(deed, { ...SITE, altitudeM: 30 }, seen),
			'version',
			/was changed by \w+, /
		);
		expect(await loadSite(db.database.orm)).toMatchObject({ altitudeM: 25, version: seen + 1 });
	});

	it('refuses a site without name, with an unknown zone or currency, or once more', async () => {
		await refuses((deed) => saveSite(deed, { ...SITE, name: ' ' }), 'name', /name/);
		await refuses((deed) => saveSite(deed, { ...SITE, timeZone: 'Mars/Sea' }), 'time_zone', /Mars/);
		await refuses((deed) => saveSite(deed, { ...SITE, currency: 'XXX' }), 'currency', /XXX/);
		await refuses((deed) => saveSite(deed, SITE, 0), 'version', /exists already/);
	});

	it('keeps the currency once amounts are recorded', async () => {
		await refuses(
			(deed) => saveSite(deed, { ...SITE, currency: 'EUR' }),
			'currency',
			/recorded in it already/
		);
	});

	it('changes a roaster by its code, with a version for each change', async () => {
		const input = { ...ROASTER, code: 'R60', name: 'Large' };
		const { roasterId: id } = done(await perform(act, (deed) => saveRoaster(deed, input, 0)));
		done(await perform(act, (deed) => saveRoaster(deed, { ...input, name: 'Larger' }, 1)));
		const rows = (await loadRoasters(db.database.orm)).filter((r) => r.code === 'R60');
		expect(rows).toMatchObject([{ id, name: 'Larger', version: 2 }]);
		await refuses((deed) => saveRoaster(deed, input, 1), 'version', /was changed by \w+, /);
		await refuses((deed) => saveRoaster(deed, input, 0), 'code', /R60 exists already/);
	});

	it('refuses a roaster with no room between its charges or in its cycle', async () => {
		const small = { ...ROASTER, minChargeG: 16_000 };
		await refuses((deed) => saveRoaster(deed, small), 'max_charge_kg', /16 to 15 kg/);
		await refuses((deed) => saveRoaster(deed, { ...ROASTER, cycleMin: 11 }), 'cycle_min', /11 min/);
	});

	it('replaces the shifts of a roaster and no other’s', async () => {
		const { roasterId: other } = done(
			await perform(act, (deed) => saveRoaster(deed, { ...ROASTER, code: 'R5' }))
		);
		const shift = { weekday: 6, startMin: 480, endMin: 600 };
		done(await perform(act, (deed) => saveShifts(deed, other, [shift, { ...shift, weekday: 7 }])));
		done(await perform(act, (deed) => saveShifts(deed, other, [shift])));
		const shifts = await loadShifts(db.database.orm);
		expect(shifts.filter((s) => s.roasterId === other)).toMatchObject([shift]);
		expect(shifts.filter((s) => s.roasterId === roasterId)).toHaveLength(5);
	});

	it('refuses shifts that overlap, end early or are on no day', async () => {
		const shift = { weekday: 1, startMin: 480, endMin: 600 };
		const save =
			(...shifts: (typeof shift)[]) =>
			(deed: Deed) =>
				saveShifts(deed, roasterId, shifts);
		await refuses(save(shift, { ...shift, endMin: 480 }), 'shift 2, end', /end after the start/);
		await refuses(
			save(shift, { ...shift, startMin: 599, endMin: 700 }),
			'shift 2, start',
			/overlaps/
		);
		await refuses(save({ ...shift, weekday: 8 }), 'shift 1, weekday', /1 to 7/);
		await refuses(save({ ...shift, endMin: 1441 }), 'shift 1, end', /within one day/);
	});

	it('takes cost rates in the currency of the site only', async () => {
		await refuses(
			(deed) => saveCostRate(deed, { ...RATE, roasterId, currency: 'EUR' }),
			'currency',
			/Found EUR, expected GBP/
		);
	});

	it('changes a product by its code and tells the second writer', async () => {
		const input = { ...PRODUCT, code: 'DARK', shade: 'dark' };
		done(await perform(act, (deed) => saveProduct(deed, input, 0)));
		done(await perform(act, (deed) => saveProduct(deed, { ...input, priceMinorPerKg: 1 }, 1)));
		await refuses((deed) => saveProduct(deed, input, 1), 'version', /was changed by \w+, /);
		await refuses((deed) => saveProduct(deed, input, 0), 'code', /DARK exists already/);
		await refuses((deed) => saveProduct(deed, { ...input, shade: 'blue' }), 'shade', /blue/);
		const rows = (await loadProducts(db.database.orm)).filter((p) => p.code === 'DARK');
		expect(rows).toMatchObject([{ priceMinorPerKg: 1, version: 2 }]);
	});

	it('takes a blend of whole shares, each lot once', async () => {
		const [a, b] = [await arrivedLot(act, 'BL-1'), await arrivedLot(act, 'BL-2')];
		const blend = (...parts: [number, number][]) => {
			const rows = parts.map(([lotId, sharePermille]) => ({ lotId, sharePermille }));
			return (deed: Deed) => saveBlend(deed, { productId, fromDay: '2026-01-05', parts: rows });
		};
		done(await perform(act, blend([a, 600], [b, 400])));
		await refuses(blend([a, 600], [b, 300]), 'share_pct', /come to 90 %/);
		await refuses(blend([a, 600], [a, 400]), 'lot', /twice/);
		await refuses(blend([a, 1000], [b, 0]), 'share_pct', /above zero/);
	});

	it('keeps the newest order of a week, and tells who changed one meanwhile', async () => {
		const order = { productId, week: '2026-W50', roastedG: 20_000 };
		done(await perform(act, (deed) => saveDemand(deed, order)));
		await refuses((deed) => saveDemand(deed, { ...order, roastedG: -1 }), 'roasted_kg', /zero/);
		const typed = { product: PRODUCT.code, roastedG: 30_000 };
		await refuses(
			(deed) => saveWeekOrders(deed, '2026-W50', [{ ...typed, seenG: 0 }]),
			PRODUCT.code,
			/20 kg by Ana, .* meanwhile/
		);
		const saved = await perform(act, (deed) =>
			saveWeekOrders(deed, '2026-W50', [{ ...typed, seenG: 20_000 }])
		);
		expect(done(saved)).toEqual({ changed: 1 });
	});
});

describe('a lot', () => {
	it('is opened with an audit line', async () => {
		const input = lotInput('L-1', { forProduct: PRODUCT.code });
		const { lotId } = done(await perform(act, (deed) => createLot(deed, input)));
		expect(await stageOf(lotId)).toBe('expected');
		const lines = await db.database.orm.select().from(audit).where(eq(audit.lotId, lotId));
		expect(lines).toMatchObject([{ act: 'create lot', by: 'Ana', at: NOW }]);
	});

	it('is refused with a code in use and with references to nothing', async () => {
		await refuses((deed) => createLot(deed, lotInput('L-1')), 'code', /L-1 exists already/);
		const lost = lotInput('L-2', { replaces: 'NONE', forProduct: 'NOTHING' });
		await refuses((deed) => createLot(deed, lost), 'replaces', /no lot NONE/);
		await refuses((deed) => createLot(deed, lost), 'for_product', /no product NOTHING/);
		const odd = lotInput('L-2', { kind: 'steamed' as never });
		await refuses((deed) => createLot(deed, odd), 'kind', /steamed/);
	});

	it('takes price terms, and not for a lot that is not there', async () => {
		const lotId = await arrivedLot(act, 'L-3');
		const terms: PriceTermsInput = {
			lotId,
			agreedOn: '2026-10-01',
			basis: 'outright',
			priceE4: 75_000,
			differentialE4: 0,
			per: 'kg',
			currency: 'GBP',
			fxE6: 1_000_000,
			fxOn: '2026-10-01',
			incoterm: 'DAP',
			freightMinor: 0,
			insurancePpm: 0,
			dutyPpm: 0,
			portMinor: 0,
			warehouseMinor: 0,
			financeDays: 0,
			financeRatePpm: 0
		};
		done(await perform(act, (deed) => recordPriceTerms(deed, terms)));
		await refuses((deed) => recordPriceTerms(deed, { ...terms, lotId: 9_999 }), 'lot', /no such/);
		await refuses((deed) => recordPriceTerms(deed, { ...terms, fxE6: 2_000_000 }), 'fx_rate', /./);
	});

	it('takes measurements within what is possible', async () => {
		const lotId = await arrivedLot(act, 'L-4');
		const blank = {
			...{ moisturePct: null, waterActivity: null, densityGL: null },
			...{ screen16UpPct: null, defectsPer300G: null }
		};
		const measured = { ...blank, lotId, stage: 'arrival' as const, at: NOW };
		done(await perform(act, (deed) => recordMeasurement(deed, { ...measured, moisturePct: 10.8 })));
		await refuses((deed) => recordMeasurement(deed, measured), 'moisture_pct', /at least one/);
		await refuses(
			(deed) => recordMeasurement(deed, { ...measured, waterActivity: 1.2 }),
			'water_activity',
			/1.2/
		);
	});

	it('never falls below zero in the ledger, by whatever act', async () => {
		const lotId = await arrivedLot(act, 'L-5');
		const sell = (massG: number) => (deed: Deed) =>
			recordMovement(deed, lotId, { at: NOW, kind: 'sold green', massG, reason: 'Sold' });
		await refuses(sell(-120_001), 'massG', /more than the 120 kg on hand/);
		await refuses(sell(0), 'massG', /0 g/);
		await refuses(sell(5), 'massG', /leave stock/);
		done(await perform(act, sell(-115_000)));
		const { testBatchId } = done(await perform(act, planned(lotId)));
		await refuses(roasted(testBatchId), 'massG', /10 kg is more than the 5 kg/);
		expect(await loadOnHandG(db.database.orm, lotId)).toBe(5_000);
	});

	it('is rejected before release with a reason, and only once', async () => {
		const lotId = await arrivedLot(act, 'L-6');
		const turn = (reason: string) => (deed: Deed) =>
			turnLot(deed, { lotId, at: NOW, turn: 'rejected', reason });
		await refuses(turn(' '), 'reason', /reason/);
		done(await perform(act, turn('Mould')));
		expect(await stageOf(lotId)).toBe('rejected');
		await refuses(turn('Mould'), 'lot', /the lot is rejected/);
		await refuses(planned(lotId), 'lot', /Can't plan a test: the lot is rejected/);
	});
});

describe('a sample', () => {
	const sample = (lotId: number, path: string, over: object = {}) => {
		const masses = { chargeG: 50, outG: 42.5, airFlowGS: 4, sensorLagS: null, earCrackS: 354 };
		const facts = { lotId, stage: 'arrival' as const, roastedAt: NOW, note: '' };
		return (deed: Deed) =>
			recordSample(deed, { ...facts, ...masses, file: demoLog(`samples/${path}`), ...over });
	};

	it('comes out of stock, gets its reading and moves the lot on', async () => {
		const lotId = await arrivedLot(act, 'S-1');
		const { sampleId } = done(await perform(act, sample(lotId, 'HR-133-arrival.csv')));
		expect(await stageOf(lotId)).toBe('sample roasted');
		expect(await loadOnHandG(db.database.orm, lotId)).toBe(119_950);
		const [record] = await loadSamples(db.database.orm, { sampleId });
		expect(record!.result!.dropS).toBeGreaterThan(300);
		const rows = await loadMovements(db.database.orm, lotId);
		expect(rows.at(-1)).toMatchObject({ kind: 'sampled', massG: -50, sampleId });
	});

	it('of the same bytes is refused, for whatever lot', async () => {
		const lotId = await arrivedLot(act, 'S-2');
		const again = sample(lotId, 'HR-133-arrival.csv');
		await refuses(again, 'samples/HR-133-arrival.csv', /same bytes were taken in before/);
	});

	it('is refused before arrival, without charge, or heavier than it went in', async () => {
		const { lotId } = done(await perform(act, (deed) => createLot(deed, lotInput('S-3'))));
		const path = 'HR-135-arrival.csv';
		await refuses(sample(lotId, path), 'lot', /Can't record a sample.*the lot is expected/);
		await refuses(sample(lotId, path, { outG: 51 }), 'out_g', /51 g out of 50 g/);
		const arrived = await arrivedLot(act, 'S-4');
		await refuses(sample(arrived, path, { chargeG: null }), 'charge_g', /comes out of stock/);
	});

	it('sent before shipment takes nothing from stock', async () => {
		const { lotId } = done(await perform(act, (deed) => createLot(deed, lotInput('S-5'))));
		const early = sample(lotId, 'HR-135-arrival.csv', { stage: 'pre-shipment' });
		done(await perform(act, early));
		expect(await stageOf(lotId)).toBe('expected');
		expect(await loadMovements(db.database.orm, lotId)).toEqual([]);
	});
});

describe('a test', () => {
	it('goes from plan to release, by records alone', async () => {
		const { lotId, testBatchId } = await testedLot('T-1');
		const stages = [await stageOf(lotId)];
		for (const verb of [
			roasted(testBatchId, { file: demoLog('tests/HR-133-test-1.csv') }),
			cupped(testBatchId),
			judged(testBatchId, 'approve'),
			released(lotId)
		]) {
			done(await perform<unknown>(act, verb));
			stages.push(await stageOf(lotId));
		}
		expect(stages).toEqual(['queued for test', 'in review', 'in review', 'in review', 'released']);
		const [recipe] = await loadRecipes(db.database.orm, lotId);
		expect(recipe).toMatchObject({ version: 1, weightLossPpm: 145_000, settings: SETTINGS });
		expect(await loadOnHandG(db.database.orm, lotId)).toBe(110_000);
	});

	it('is planned only with a charge the roaster takes, a purpose, and coffee that is there', async () => {
		const lotId = await arrivedLot(act, 'T-2');
		const charge = (chargeG: number) => ({ settings: { ...SETTINGS, chargeG } });
		await refuses(planned(lotId, charge(15_001)), 'charge_kg', /15.001 kg, expected 4 to 15 kg/);
		await refuses(planned(lotId, charge(3_999)), 'charge_kg', /3.999/);
		await refuses(planned(lotId, { purpose: '' }), 'purpose', /find out/);
		await refuses(planned(lotId, { roasterId: 99 }), 'roaster', /no such roaster/);
		const { lotId: afar } = done(await perform(act, (deed) => createLot(deed, lotInput('T-3'))));
		await refuses(planned(afar), 'lot', /the lot is expected/);
	});

	it('is roasted, cupped and judged in this order, each judgement once', async () => {
		const { testBatchId } = await testedLot('T-4');
		await refuses(cupped(testBatchId), 'test', /roast before its cupping/);
		await refuses(judged(testBatchId, 'adjust'), 'test', /Record the roast first/);
		await refuses(roasted(testBatchId, { outG: 10_000 }), 'out_kg', /less than the charge/);
		done(await perform(act, roasted(testBatchId)));
		await refuses(roasted(testBatchId), 'test', /already recorded/);
		await refuses(judged(testBatchId, 'adjust'), 'test', /follows a cupping/);
		await refuses(cupped(testBatchId, { cuppedAt: NOW - 1 }), 'cupped_at', /after it was roasted/);
		const odd = { ...CUPPED, body: 5 };
		await refuses(cupped(testBatchId, { sheet: odd }), 'body', /from 6 to 10/);
		expect(done(await perform(act, cupped(testBatchId))).score).toBe(85.25);
		await refuses(judged(testBatchId, 'adjust', { reason: ' ' }), 'reason', /reason/);
		done(await perform(act, judged(testBatchId, 'adjust')));
		await refuses(judged(testBatchId, 'approve'), 'test', /has its verdict \(adjust, by Ana\)/);
		await refuses(cupped(9_999), 'test', /no such test/);
	});

	it('is withdrawn while it waits, and stays on record once roasted', async () => {
		const { lotId, testBatchId } = await testedLot('T-5');
		done(await perform(act, (deed) => withdrawTest(deed, { testBatchId })));
		expect(await loadTests(db.database.orm, { lotId })).toEqual([]);
		await refuses((deed) => withdrawTest(deed, { testBatchId }), 'test', /no such test/);
		const { testBatchId: second, number } = done(await perform(act, planned(lotId)));
		expect(number).toBe(2);
		done(await perform(act, roasted(second)));
		await refuses((deed) => withdrawTest(deed, { testBatchId: second }), 'test', /stays on record/);
	});

	it('gives back no more coffee than it made', async () => {
		const { testBatchId } = await testedLot('T-6');
		const recovered = (massG: number, over: object = {}) => {
			const facts = { testBatchId, at: NOW, kind: 'reduced' as const, valueMinor: 3_000 };
			return (deed: Deed) => recordRecovery(deed, { ...facts, massG, productId, ...over });
		};
		await refuses(recovered(1_000), 'test', /no such roasted test/);
		done(await perform(act, roasted(testBatchId)));
		done(await perform(act, recovered(8_000)));
		await refuses(recovered(551), 'mass_kg', /8.551 kg is more than the 8.55 kg/);
		await refuses(recovered(0), 'mass_kg', /./);
		await refuses(recovered(500, { kind: 'written off' }), 'value', /./);
	});
});

describe('a release', () => {
	it('needs an approved test, two names and a price', async () => {
		const { lotId, testBatchId } = await testedLot('R-1');
		await refuses(released(lotId), 'lot', /the lot is queued for test/);
		done(await perform(act, roasted(testBatchId)));
		await refuses(released(lotId), 'lot', /no recipe/);
		done(await perform(act, cupped(testBatchId)));
		done(await perform(act, judged(testBatchId, 'approve')));
		await refuses(released(lotId, { qualityBy: '' }), 'quality_by', /both sign/);
		await refuses(released(lotId, { priceMinorPerKg: 0 }), 'price_per_kg', /above zero/);
		done(await perform(act, released(lotId)));
		await refuses(released(lotId), 'lot', /the lot is released/);
	});

	it('opens production, and a re-opening closes it again', async () => {
		const lotId = await releasedLot('R-2');
		const batch = { productId, roasterId, roastedAt: NOW + 48 * HOUR, chargeG: 12_000 };
		const produce =
			(...outs: number[]) =>
			(deed: Deed) =>
				recordProduction(
					deed,
					lotId,
					outs.map((outG) => ({ ...batch, outG }))
				);
		done(await perform(act, produce(10_200, 10_300)));
		expect(await loadOnHandG(db.database.orm, lotId)).toBe(86_000);
		await refuses(produce(12_000), 'out_kg', /less than the charge/);
		await refuses(produce(10_000, 0), 'batch 2, out_kg', /more than zero/);
		await refuses(produce(...Array<number>(8).fill(10_000)), 'massG', /more than the 2 kg/);
		const reopen = (deed: Deed) =>
			turnLot(deed, { lotId, at: NOW + 72 * HOUR, turn: 'reopened', reason: 'Baked' });
		done(await perform(act, reopen));
		expect(await stageOf(lotId)).toBe('in test');
		await refuses(produce(10_000), 'lot', /Can't roast it for production: the lot is in test/);
		await refuses(reopen, 'lot', /Can't re-open/);
	});

	it('keeps production from a lot that is not released', async () => {
		const { lotId } = await testedLot('R-3');
		const batch = { productId, roasterId, roastedAt: NOW, chargeG: 5_000, outG: 4_300 };
		await refuses((deed) => recordProduction(deed, lotId, [batch]), 'lot', /queued for test/);
	});
});

describe('a week', () => {
	it('is planned with every waiting test and order, anew each time', async () => {
		const { testBatchId } = await testedLot('W-1');
		const lotId = await releasedLot('W-2');
		const whole = [{ lotId, sharePermille: 1000 }];
		done(
			await perform(act, (deed) =>
				saveBlend(deed, { productId, fromDay: '2026-11-23', parts: whole })
			)
		);
		const order = { productId, week: WEEK, roastedG: 17_000 };
		done(await perform(act, (deed) => saveDemand(deed, order)));
		const first = done(await perform(act, (deed) => planWeek(deed, WEEK)));
		const slots = await loadSlots(db.database.orm, WEEK);
		expect(slots).toHaveLength(first.slots);
		expect(slots.some((s) => s.testBatchId === testBatchId)).toBe(true);
		expect(slots.some((s) => s.kind === 'production' && s.lotId === lotId)).toBe(true);
		done(await perform(act, (deed) => planWeek(deed, WEEK)));
		expect(await loadSlots(db.database.orm, WEEK)).toHaveLength(first.slots);
	});

	it('keeps a locked slot where it is', async () => {
		const [one] = await loadSlots(db.database.orm, WEEK);
		done(await perform(act, (deed) => lockSlot(deed, { slotId: one!.id, locked: true })));
		done(await perform(act, (deed) => planWeek(deed, WEEK)));
		const kept = await db.database.orm.select().from(slot).where(eq(slot.id, one!.id));
		expect(kept).toEqual([{ ...one, locked: true }]);
	});

	it('is refused when it is no week, and a slot when it is gone', async () => {
		await refuses((deed) => planWeek(deed, '2026-W60'), 'week', /2026-W60/);
		await refuses((deed) => lockSlot(deed, { slotId: 99_999, locked: true }), 'slot', /not there/);
	});
});
