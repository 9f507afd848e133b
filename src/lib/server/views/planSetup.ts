import { LOT_KINDS } from '#lib/domain/lot/lot.ts';
import type { PlanWeights } from '#lib/domain/plan/objective.ts';
import type { Reader } from '../db/client.ts';
import {
	loadClosures,
	loadDayHours,
	loadFlavoured,
	loadPlanHours,
	loadPlanSettings,
	loadRoasterBars,
	type PlanHours
} from '../store/planning.ts';
import { loadProducts } from '../store/production.ts';
import { loadRoasters } from '../store/site.ts';

/** A row of hours as its form shows it. */
export interface HoursFields {
	/** ISO weekday, or `1-5` for Monday to Friday. */
	readonly days: string;
	readonly start: string;
	readonly end: string;
	/** Code of the roaster, blank for all. */
	readonly roaster: string;
}

export interface PlanSetup {
	readonly version: number;
	readonly roasters: readonly { readonly code: string; readonly name: string }[];
	readonly weights: PlanWeights;
	readonly overtimeMin: number;
	readonly darkToLighterMin: number;
	readonly keepsApart: Readonly<Record<'decaf' | 'certified' | 'flavoured', boolean>>;
	readonly breaks: readonly HoursFields[];
	readonly profiling: readonly HoursFields[];
	readonly closures: readonly {
		readonly from: string;
		readonly to: string;
		readonly roaster: string;
		readonly reason: string;
	}[];
	/** Hours of single days. */
	readonly days: readonly {
		readonly kind: string;
		readonly day: string;
		readonly start: string;
		readonly end: string;
		readonly roaster: string;
		readonly reason: string;
	}[];
	/** Products and kinds of lots, each with the roasters that may take it. */
	readonly runs: readonly {
		/** `product LANTERN`, `kind decaf`. */
		readonly key: string;
		readonly label: string;
		/** Null for a kind of lot. */
		readonly flavoured: boolean | null;
		/** Codes. */
		readonly on: readonly string[];
	}[];
}

/** Everything that planning goes by, as its page shows it. */
export async function loadPlanSetup(db: Reader): Promise<PlanSetup> {
	const [settings, hours, closures, days, bars, flavoured, roasters, products] = await Promise.all([
		loadPlanSettings(db),
		loadPlanHours(db),
		loadClosures(db),
		loadDayHours(db),
		loadRoasterBars(db),
		loadFlavoured(db),
		loadRoasters(db),
		loadProducts(db)
	]);
	const codeOf = (id: number | null) => roasters.find((one) => one.id === id)?.code ?? '';
	const { darkToLighterMin, ...keepsApart } = settings.separations;
	const openTo = (isBar: (bar: (typeof bars)[number]) => boolean) =>
		roasters
			.filter(({ id }) => !bars.some((bar) => bar.roasterId === id && isBar(bar)))
			.map(({ code }) => code);
	return {
		version: settings.version,
		roasters: roasters.map(({ code, name }) => ({ code, name })),
		weights: settings.weights,
		overtimeMin: settings.overtimeMin,
		darkToLighterMin,
		keepsApart,
		breaks: hoursFields(hours, 'break', codeOf),
		profiling: hoursFields(hours, 'profiling', codeOf),
		closures: closures.map(({ fromDay, toDay, roasterId, reason }) => ({
			from: fromDay,
			to: toDay,
			roaster: codeOf(roasterId),
			reason
		})),
		days: days.map(({ kind, day, startMin, endMin, roasterId, reason }) => ({
			...{ kind, day, start: clock(startMin), end: clock(endMin) },
			...{ roaster: codeOf(roasterId), reason }
		})),
		runs: [
			...LOT_KINDS.map((kind) => ({
				key: `kind ${kind}`,
				label: `Lots: ${kind}`,
				flavoured: null,
				on: openTo(({ lotKind }) => lotKind === kind)
			})),
			...products.map(({ id, code, name }) => ({
				key: `product ${code}`,
				label: name,
				flavoured: flavoured.has(id),
				on: openTo(({ productId }) => productId === id)
			}))
		]
	};
}

/** Rows that are the same on Monday to Friday are one. */
function hoursFields(
	hours: readonly PlanHours[],
	kind: string,
	codeOf: (id: number | null) => string
): readonly HoursFields[] {
	const own = hours.filter((one) => one.kind === kind);
	const alike = Map.groupBy(own, (one) => `${one.startMin}/${one.endMin}/${one.roasterId}`);
	return [...alike.values()].flatMap((rows) => {
		const { startMin, endMin, roasterId } = rows[0]!;
		const fields = { start: clock(startMin), end: clock(endMin), roaster: codeOf(roasterId) };
		const days = rows.map(({ weekday }) => String(weekday));
		const isWorkWeek = ['1', '2', '3', '4', '5'].every((day) => days.includes(day));
		const rest = isWorkWeek ? ['1-5', ...days.filter((day) => Number(day) > 5)] : days;
		return rest.map((day) => ({ ...fields, days: day }));
	});
}

function clock(minutes: number): string {
	const two = (n: number) => String(n).padStart(2, '0');
	return `${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}
