import { afterAll, beforeAll, expect, it } from 'vitest';
import { USUAL_WEIGHTS } from '#lib/domain/plan/objective.ts';
import { USUAL_SEPARATIONS } from '#lib/domain/plan/changeover.ts';
import { perform, type Act } from '#lib/server/commands/act.ts';
import {
	saveBreaks,
	saveClosures,
	saveDayHours,
	savePlanSettings,
	saveProfilingHours,
	saveRunsWhere
} from '#lib/server/commands/savePlanning.ts';
import { loadPlanSetup } from '#lib/server/views/planSetup.ts';
import { loadWeekProblem } from '#lib/server/views/planProblem.ts';
import { loadRoastery } from '#lib/server/views/roastery.ts';
import { owner } from '#support/actors.ts';
import { newDatabase, type TestDatabase } from '#support/database.ts';
import { done, setUpRoastery } from '#support/smallRoastery.ts';

/** What planning goes by is saved whole, by version, and reaches the week's problem. */

/** Sunday 22 November 2026, 12:00 in London; the week after is planned. */
const NOW = Date.UTC(2026, 10, 22, 12);
const WEEK = '2026-W48';
let db: TestDatabase;
let act: Act;
let ids: { roasterId: number; productId: number };

beforeAll(async () => {
	db = await newDatabase();
	act = { database: db.database, now: NOW, actor: owner('Ada') };
	ids = await setUpRoastery(act);
});
afterAll(() => db.remove());

async function problem() {
	const { orm } = db.database;
	return (await loadWeekProblem(orm, await loadRoastery(orm, NOW), WEEK)).problem;
}

it('breaks, closures, profiling hours and overtime change the hours of the week', async () => {
	expect((await problem()).windows).toHaveLength(5);
	const noon = [1, 2, 3, 4, 5].map((weekday) => ({
		...{ roasterId: null, weekday, startMin: 720, endMin: 750 }
	}));
	done(await perform(act, (deed) => saveBreaks(deed, noon, 0)));
	const closed = [{ roasterId: null, fromDay: '2026-11-27', toDay: '2026-11-27', reason: 'x' }];
	done(await perform(act, (deed) => saveClosures(deed, closed, 1)));
	const hours = [{ roasterId: null, weekday: 2, startMin: 600, endMin: 720 }];
	done(await perform(act, (deed) => saveProfilingHours(deed, hours, 2)));
	const settings = { weights: USUAL_WEIGHTS, separations: USUAL_SEPARATIONS, overtimeMin: 60 };
	done(await perform(act, (deed) => savePlanSettings(deed, settings, 3)));
	const { windows, profiling } = await problem();
	expect(windows).toHaveLength(8);
	expect(windows.filter(({ overtimeFromMs }) => overtimeFromMs !== undefined)).toHaveLength(4);
	expect(profiling).toEqual([
		{ startMs: Date.UTC(2026, 10, 24, 10), endMs: Date.UTC(2026, 10, 24, 12) }
	]);
	const setup = await loadPlanSetup(db.database.orm);
	expect(setup.breaks).toEqual([{ days: '1-5', start: '12:00', end: '12:30', roaster: '' }]);
	expect(setup.version).toBe(4);
});

it('the second of two writers is told, and nothing is written', async () => {
	const outcome = await perform(act, (deed) => saveBreaks(deed, [], 3));
	expect(outcome).toMatchObject({ ok: false, problems: [{ path: 'version' }] });
	expect((await loadPlanSetup(db.database.orm)).breaks).toHaveLength(1);
});

it('what may not run on a roaster, and what is flavoured, is kept', async () => {
	const bars = [{ roasterId: ids.roasterId, productId: ids.productId, lotKind: null }];
	const input = { bars, flavoured: [ids.productId] };
	done(await perform(act, (deed) => saveRunsWhere(deed, input, 4)));
	const { runs } = await loadPlanSetup(db.database.orm);
	expect(runs.find(({ key }) => key === 'product HOUSE')).toMatchObject({
		on: [],
		flavoured: true
	});
	expect(runs.find(({ key }) => key === 'kind decaf')!.on).toEqual(['R15']);
});

it('refuses an end before its start and a kind of lot that there is none of', async () => {
	const odd = [{ roasterId: null, weekday: 1, startMin: 720, endMin: 700 }];
	expect((await perform(act, (deed) => saveBreaks(deed, odd, 5))).ok).toBe(false);
	const bars = [{ roasterId: ids.roasterId, productId: null, lotKind: 'tea' }];
	const outcome = await perform(act, (deed) => saveRunsWhere(deed, { bars, flavoured: [] }, 5));
	expect(outcome.ok ? '' : outcome.problems[0]!.message).toContain("'tea'");
});

it('hours of single days are kept beside the usual week, and reach the week they are in', async () => {
	const usual = (await problem()).windows.length;
	const day = { day: '2026-11-28', startMin: 420, endMin: 780, reason: 'to catch up' };
	const shift = { kind: 'shift' as const, roasterId: ids.roasterId, ...day };
	const { version } = await loadPlanSetup(db.database.orm);
	const nobody = await perform(act, (deed) =>
		saveDayHours(deed, [{ ...shift, roasterId: null }], version)
	);
	expect(nobody).toMatchObject({ ok: false, problems: [{ path: 'row 1' }] });
	done(await perform(act, (deed) => saveDayHours(deed, [shift], version)));
	const { windows } = await problem();
	expect(windows).toHaveLength(usual + 1);
	expect(windows.at(-1)).toMatchObject({ startMs: Date.UTC(2026, 10, 28, 7) });
	expect((await loadPlanSetup(db.database.orm)).days).toEqual([
		{
			...{ kind: 'shift', day: '2026-11-28', start: '07:00', end: '13:00', roaster: 'R15' },
			reason: 'to catch up'
		}
	]);
});
