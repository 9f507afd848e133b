import { afterAll, beforeAll, expect, it } from 'vitest';
import { ACT_NAMES, type ActName } from '#lib/domain/access/rights.ts';
import { USUAL_SEPARATIONS } from '#lib/domain/plan/changeover.ts';
import { USUAL_WEIGHTS } from '#lib/domain/plan/objective.ts';
import { JOURNAL_SIDES, type Accounts } from '#lib/domain/cost/accounts.ts';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { perform, type Act, type Deed } from '#lib/server/commands/act.ts';
import { changeExpectedDay } from '#lib/server/commands/changeExpectedDay.ts';
import { changeRole } from '#lib/server/commands/changePerson.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { renamePasskey } from '#lib/server/commands/ownPasskeys.ts';
import { saveBlend } from '#lib/server/commands/saveBlend.ts';
import { saveCostRate } from '#lib/server/commands/saveCostRate.ts';
import { saveDemand } from '#lib/server/commands/saveDemand.ts';
import { saveDrumSettings } from '#lib/server/commands/saveDrumSettings.ts';
import { saveExchangeRate } from '#lib/server/commands/saveExchangeRate.ts';
import { saveJournalAccounts } from '#lib/server/commands/saveJournalAccounts.ts';
import * as planning from '#lib/server/commands/savePlanning.ts';
import { saveProduct } from '#lib/server/commands/saveProduct.ts';
import { saveRoaster } from '#lib/server/commands/saveRoaster.ts';
import { saveShifts } from '#lib/server/commands/saveShifts.ts';
import { saveSite } from '#lib/server/commands/saveSite.ts';
import { saveSupplierLead } from '#lib/server/commands/saveSupplierLead.ts';
import { saveTestBudget } from '#lib/server/commands/saveTestBudget.ts';
import { audit, passkey, user } from '#lib/server/db/schema.ts';
import { loadPlanSettings } from '#lib/server/store/planning.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import {
	arrivedLot,
	done,
	lotInput,
	PRODUCT,
	RATE,
	ROASTER,
	setUpRoastery,
	SITE
} from '#support/smallRoastery.ts';

/** Each act that changes a record says in the audit what was before and what is after, under the same names. */

const NOW = Date.UTC(2026, 10, 25, 9);

let db: TestDatabase;
let act: Act;
let ids: { roasterId: number; productId: number; lotId: number; comingId: number; userId: number };

beforeAll(async () => {
	db = await newDatabase();
	const { orm } = db.database;
	const row = {
		login: 'nell',
		name: 'Nell',
		role: 'owner' as const,
		password: 'none',
		createdAt: 1
	};
	const people = [row, { ...row, login: 'mo', name: 'Mo', role: 'viewer' as const }];
	const [nell, mo] = await orm.insert(user).values(people).returning({ id: user.id });
	const actor = { ...owner('Nell'), userId: nell!.id };
	act = { database: db.database, now: NOW, actor };
	const made = await setUpRoastery(act);
	const lotId = await arrivedLot(act, 'A-1');
	const coming = await perform(act, (deed) => createLot(deed, lotInput('A-2')));
	ids = { ...made, lotId, comingId: done(coming).lotId, userId: mo!.id };
	await orm.insert(passkey).values({
		...{
			userId: nell!.id,
			name: 'Desk',
			credentialId: 'a',
			publicKey: Buffer.from([1]),
			counter: 0
		},
		...{ transports: [], createdAt: NOW }
	});
});
afterAll(() => db.remove());

type Work = (deed: Deed) => Promise<Outcome<unknown>>;

/** The version that planning has now: whoever saves a part has seen the whole. */
const seen = async (deed: Deed) => (await loadPlanSettings(deed.tx)).version;
const accounts = (code: string) =>
	Object.fromEntries(
		JOURNAL_SIDES.map((side) => [side, { code, name: 'x' }])
	) as unknown as Accounts;

/** Each act done for the `n`th time, 1 or 2, which must differ. */
const TWICE: Partial<Record<ActName, (n: number) => Work>> = {
	'save site': (n) => (deed) => saveSite(deed, { ...SITE, altitudeM: n }),
	'save roaster': (n) => (deed) => saveRoaster(deed, { ...ROASTER, warmUpMin: n }),
	'save product': (n) => (deed) => saveProduct(deed, { ...PRODUCT, priceMinorPerKg: n }),
	'save supplier': (n) => (deed) => saveSupplierLead(deed, { supplier: 'Seed', leadDays: n }),
	'save shifts': (n) => (deed) =>
		saveShifts(deed, ids.roasterId, [{ weekday: 1, startMin: 400 + n, endMin: 900 }]),
	'save cost rate': (n) => (deed) =>
		saveCostRate(deed, { ...RATE, roasterId: ids.roasterId, labourMinorPerHour: n }),
	'save exchange rate': (n) => (deed) =>
		saveExchangeRate(deed, {
			day: '2026-11-20',
			from: 'USD',
			to: 'GBP',
			rateE6: n,
			source: 'bank'
		}),
	'save testing budget': (n) => (deed) =>
		saveTestBudget(deed, { period: '2026-11', amountMinor: n }),
	'save journal accounts': (n) => (deed) => saveJournalAccounts(deed, accounts(`${n}`)),
	'save demand': (n) => (deed) =>
		saveDemand(deed, { productId: ids.productId, week: '2026-W49', roastedG: n }),
	'save blend': (n) => (deed) =>
		saveBlend(deed, {
			...{ productId: ids.productId, fromDay: '2026-11-23' },
			parts:
				n === 1
					? [{ lotId: ids.lotId, sharePermille: 1000 }]
					: [ids.lotId, ids.comingId].map((lotId) => ({ lotId, sharePermille: 500 }))
		}),
	'save log settings': (n) => (deed) =>
		saveDrumSettings(deed, {
			...{ roasterId: ids.roasterId, reason: 'test' },
			given: { rorWindowS: 30 + n }
		}),
	'save plan settings': (n) => async (deed) =>
		planning.savePlanSettings(
			deed,
			{ weights: USUAL_WEIGHTS, separations: USUAL_SEPARATIONS, overtimeMin: n },
			await seen(deed)
		),
	'save breaks': (n) => async (deed) => planning.saveBreaks(deed, hours(n), await seen(deed)),
	'save profiling hours': (n) => async (deed) =>
		planning.saveProfilingHours(deed, hours(n), await seen(deed)),
	'save closures': (n) => async (deed) =>
		planning.saveClosures(
			deed,
			[{ roasterId: null, fromDay: '2026-12-24', toDay: `2026-12-2${5 + n}`, reason: 'holiday' }],
			await seen(deed)
		),
	'save hours of days': (n) => async (deed) =>
		planning.saveDayHours(
			deed,
			[
				{
					...{ kind: 'stoppage' as const, roasterId: null, day: '2026-12-01', reason: 'repair' },
					...{ startMin: 600, endMin: 660 + n }
				}
			],
			await seen(deed)
		),
	'save what runs where': (n) => async (deed) =>
		planning.saveRunsWhere(
			deed,
			{ bars: [], flavoured: n === 1 ? [] : [ids.productId] },
			await seen(deed)
		),
	'change expected day': (n) => (deed) =>
		changeExpectedDay(deed, {
			...{ lotId: ids.comingId, day: `2026-12-0${n}` },
			seen: n === 1 ? '2026-11-01' : '2026-12-01'
		}),
	'change role': (n) => (deed) =>
		changeRole(deed, { userId: ids.userId, role: n === 1 ? 'quality' : 'finance' }),
	'rename own passkey': (n) => (deed) => renamePasskey(deed, { id: 1, name: `Desk ${n}` })
};

const hours = (n: number) => [{ roasterId: null, weekday: 1, startMin: 700, endMin: 730 + n }];

it.each(Object.entries(TWICE))('%s', async (name, work) => {
	for (const n of [1, 2]) done(await perform(act, work(n)));
	const lines = (await db.database.orm.select().from(audit)).filter((line) => line.act === name);
	const { before, after } = lines.at(-1)!.detail as Record<string, Record<string, unknown>>;
	expect(Object.keys(after!).length).toBeGreaterThan(0);
	expect(Object.keys(before!).sort()).toEqual(Object.keys(after!).sort());
	for (const key of Object.keys(after!)) expect(before![key], key).not.toEqual(after![key]);
});

it('every act whose name says that it saves, changes or renames is among them', () => {
	// A password is in no audit, before or after.
	const named = ACT_NAMES.filter(
		(name) => /^(save|change|rename) /.test(name) && name !== 'change own password'
	);
	expect(Object.keys(TWICE).sort()).toEqual([...named].sort());
});
