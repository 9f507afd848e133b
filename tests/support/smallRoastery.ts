import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import type { SumForm } from '#lib/domain/trial/cupping.ts';
import type { TestSettings } from '#lib/domain/trial/settings.ts';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { createLot, type LotInput } from '#lib/server/commands/createLot.ts';
import { recordMovement } from '#lib/server/commands/recordMovement.ts';
import { saveCostRate } from '#lib/server/commands/saveCostRate.ts';
import { saveProduct } from '#lib/server/commands/saveProduct.ts';
import { saveRoaster } from '#lib/server/commands/saveRoaster.ts';
import { saveShifts } from '#lib/server/commands/saveShifts.ts';
import { saveSite } from '#lib/server/commands/saveSite.ts';
import { sniffLog } from '#lib/server/imports/logFile.ts';
import { logInput, type LogInput } from '#lib/server/imports/parseLog.ts';
import { ROOT } from '../../src/cli/support/build.ts';

/** A roastery with one roaster and one product, for tests of the acts. Invented. */

export const SITE = {
	name: 'Corner Drum',
	timeZone: 'Europe/London',
	currency: 'GBP',
	altitudeM: 20,
	releaseLeadDays: 5,
	cuppingLagHours: 24,
	testCycleDays: 5
};

export const ROASTER = {
	code: 'R15',
	name: 'Drum roaster',
	minChargeG: 4_000,
	maxChargeG: 15_000,
	warmUpMin: 30,
	cycleMin: 15,
	roastMin: 12,
	cleaningMin: 30,
	note: ''
};

export const PRODUCT = { code: 'HOUSE', name: 'House', shade: 'medium', priceMinorPerKg: 1_800 };

export const RATE = {
	fromDay: '2026-01-01',
	currency: 'GBP',
	energyKwhPerBatch: 4,
	energyKwhPerKgGreen: 0.5,
	energyPriceE4PerKwh: 800,
	labourMinorPerHour: 1_800,
	machineMinorPerHour: 900,
	qualityMinorPerHour: 2_400,
	labourMinPerBatch: 10,
	qualityMinPerTest: 50
};

export const SETTINGS: TestSettings = {
	chargeG: 10_000,
	startC: 195,
	soakS: 30,
	gasSteps: [{ atS: 0, pct: 70 }],
	airSteps: [{ atS: 0, pct: 50 }],
	drumRpm: 54
};

export const CUPPED: SumForm = {
	form: 'sum',
	fragranceAroma: 8,
	flavour: 8,
	aftertaste: 7.75,
	acidity: 8,
	body: 7.5,
	balance: 8,
	uniformCups: 5,
	cleanCups: 5,
	sweetCups: 5,
	overall: 8,
	taintCups: 0,
	faultCups: 0
};

export function lotInput(code: string, over: Partial<LotInput> = {}): LotInput {
	return {
		code,
		name: `Lot ${code}`,
		kind: 'washed',
		country: 'CO',
		producer: 'Vereda',
		supplier: 'Seed',
		variety: 'Castillo',
		cropYear: '2026',
		bagG: 60_000,
		bagsExpected: 2,
		expectedOn: '2026-11-01',
		organic: false,
		decaf: false,
		replaces: null,
		forProduct: null,
		neededOn: null,
		note: '',
		createdAt: null,
		...over
	};
}

/** The value of an outcome that has to be good; throws with its problems. */
export function done<T>(outcome: Outcome<T>): T {
	if (outcome.ok) return outcome.value;
	throw new Error(outcome.problems.map((p) => `${p.path}: ${p.message}`).join('\n'));
}

/** Site, roaster with shifts and rates, product. */
export async function setUpRoastery(act: Act): Promise<{ roasterId: number; productId: number }> {
	done(await perform(act, (deed) => saveSite(deed, SITE)));
	const { roasterId } = done(await perform(act, (deed) => saveRoaster(deed, ROASTER)));
	const weekdays = [1, 2, 3, 4, 5];
	const shifts = weekdays.map((weekday) => ({ weekday, startMin: 420, endMin: 900 }));
	done(await perform(act, (deed) => saveShifts(deed, roasterId, shifts)));
	done(await perform(act, (deed) => saveCostRate(deed, { ...RATE, roasterId })));
	const { productId } = done(await perform(act, (deed) => saveProduct(deed, PRODUCT)));
	return { roasterId, productId };
}

/** A lot with 120 kg received. */
export async function arrivedLot(act: Act, code: string): Promise<number> {
	const { lotId } = done(await perform(act, (deed) => createLot(deed, lotInput(code))));
	const entry = { at: act.now - 86_400_000, kind: 'received', massG: 120_000, reason: '2 bags' };
	done(await perform(act, (deed) => recordMovement(deed, lotId, entry as never)));
	return lotId;
}

/** A log of the demo roastery as an upload would read it, e.g. `samples/HR-133-arrival.csv`. */
export function demoLog(path: string): LogInput {
	const bytes = readFileSync(join(ROOT, 'demo-data/logs', path));
	const preview = sniffLog(bytes, path);
	if (!preview.mapping) throw new Error(`${path} can't be split into columns.`);
	return done(logInput(path, bytes, preview.mapping));
}
