import { perform, type Act, type Deed } from '#lib/server/commands/act.ts';
import { giveVerdict } from '#lib/server/commands/giveVerdict.ts';
import { importTables } from '#lib/server/commands/importTables.ts';
import { planTest } from '#lib/server/commands/planTest.ts';
import { planWeek } from '#lib/server/commands/planWeek.ts';
import { recordCupping } from '#lib/server/commands/recordCupping.ts';
import { recordTestRoast } from '#lib/server/commands/recordTestRoast.ts';
import { releaseLot } from '#lib/server/commands/releaseLot.ts';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { arrivedLot, CUPPED, done, SETTINGS } from './smallRoastery.ts';

/** Acts that a process is killed in. Each returns once it is acknowledged. */
export const NOW = Date.UTC(2026, 10, 25, 9);
export const WEEK = '2026-W48';
export const LOTS_A_FILE = 12;
const HOUR = 3_600_000;

/** Takes in two tables: twelve lots, and what came of each. */
export async function importSome(act: Act, n: number): Promise<void> {
	const codes = Array.from({ length: LOTS_A_FILE }, (_, i) => `I${n}-${i}`);
	const lots = codes.map(
		(code) =>
			`${code},Lot ${code},washed,CO,Vereda,Seed,Castillo,2026,60,2,2026-11-01,no,no,2026-10-01 09:00`
	);
	const movements = codes.map((code) => `${code},2026-11-02 09:00,received,120,2 bags,Jo`);
	const file = (head: string, rows: readonly string[]) =>
		new TextEncoder().encode([head, ...rows].join('\n') + '\n');
	const tables = {
		'lots.csv': file(
			'code,name,kind,country,producer,supplier,variety,crop_year,bag_kg,bags_expected,expected_on,organic,decaf,created_at',
			lots
		),
		'movements.csv': file('lot,at,kind,mass_kg,reason,by', movements)
	};
	done(await importTables(act, { tables, logs: new Map() }));
}

/** Plans the week anew. */
export async function planSome(act: Act): Promise<void> {
	done(await perform(act, (deed) => planWeek(deed, WEEK)));
}

/** A lot in review with an approved test. */
export async function reviewedLot(act: Act, code: string, roasterId: number): Promise<number> {
	const lotId = await arrivedLot(act, code);
	const run = async <T>(verb: (deed: Deed) => Promise<Outcome<T>>) =>
		done(await perform(act, verb));
	const plan = { lotId, roasterId, plannedAt: NOW, purpose: 'First batch', change: '' };
	const { testBatchId } = await run((deed) => planTest(deed, { ...plan, settings: SETTINGS }));
	const roast = { testBatchId, roastedAt: NOW, chargeG: 10_000, outG: 8_550, note: '', file: null };
	await run((deed) => recordTestRoast(deed, roast));
	const cupping = { testBatchId, cuppedAt: NOW + 24 * HOUR, sheet: CUPPED };
	await run((deed) => recordCupping(deed, { ...cupping, descriptors: 'plum', note: '' }));
	const verdict = {
		testBatchId,
		at: NOW + 25 * HOUR,
		verdict: 'approve' as const,
		reason: 'Sweet'
	};
	await run((deed) => giveVerdict(deed, verdict));
	return lotId;
}

export async function releaseSome(act: Act, lotId: number): Promise<void> {
	const facts = { lotId, at: NOW + 26 * HOUR, roastingBy: 'Owen', qualityBy: 'Ana' };
	done(
		await perform(act, (deed) =>
			releaseLot(deed, { ...facts, descriptors: 'plum', priceMinorPerKg: 2_000 })
		)
	);
}
