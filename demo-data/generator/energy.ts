import { addDays } from '#lib/domain/quantity/week.ts';
import { dayOfStamp, mondayOfWeek, type Stamp } from './calendar.ts';
import type { RoasterCode } from './cast.ts';
import { chanceFrom } from './chance.ts';
import type { LotStory } from './story.ts';
import { num, table, type Cell } from './text.ts';

/** What batches take of gas and power, and the meters that were read once there were any. Invented. */

interface Usage {
	readonly gasPerBatch: number;
	readonly gasPerKg: number;
	readonly powerPerBatch: number;
	readonly powerPerKg: number;
}

/** Kilowatt-hours by rate. */
export const USAGE: Readonly<Record<RoasterCode, Usage>> = {
	D15: { gasPerBatch: 4.5, gasPerKg: 0.42, powerPerBatch: 0.9, powerPerKg: 0.02 },
	D60: { gasPerBatch: 11, gasPerKg: 0.36, powerPerBatch: 2.4, powerPerKg: 0.02 }
};

/** The day the roasters' own meters were fitted. */
const METERED_FROM = addDays(mondayOfWeek(66), 1);

/** Readings of the tests since then; now and then somebody forgot one of the two. */
export function energyReadingsFile(
	lots: readonly { readonly code: string; readonly lot: LotStory }[]
): string {
	const rows = lots.flatMap(({ code, lot }) =>
		lot.tests.flatMap(({ number, roaster, settings, roast }) => {
			if (!roast || dayOfStamp(roast.at) < METERED_FROM) return [];
			const chance = chanceFrom(`energy ${lot.key} ${number}`);
			const use = USAGE[roaster];
			const chargeKg = settings.chargeG / 1000;
			const gas = (use.gasPerBatch + use.gasPerKg * chargeKg) * chance.tame(1.03, 0.07);
			const power = (use.powerPerBatch + use.powerPerKg * chargeKg) * chance.tame(1, 0.05);
			const isForgotten = chance.happens(0.12);
			const at: Stamp = roast.at;
			return [
				{
					at,
					row: [code, number, '', '', at, num(gas, 1), isForgotten ? '' : num(power, 2), roast.by]
				}
			];
		})
	);
	const sorted = rows.sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : 0));
	return table(
		['lot', 'test', 'roaster', 'roasted_at', 'at', 'gas_kwh', 'power_kwh', 'by'],
		sorted.map(({ row }): Cell[] => row)
	);
}
