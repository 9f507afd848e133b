import { formatKg } from '../quantity/mass.ts';
import type { InstantMs } from '../quantity/time.ts';
import { splitsOf } from './batches.ts';
import { changeForNeed, changeForRoom, changeForTest } from './change.ts';
import type { Change, Unplaced } from './plan.ts';
import {
	eligible,
	type PlanProblem,
	type ProductionNeed,
	type Roaster,
	type TestNeed
} from './problem.ts';
import { sayInstant } from './say.ts';
import type { Timeline } from './timeline.ts';

/** Why a need has no slot and what would give it one, told once everything else has its place. */

export type Cause =
	| { readonly kind: 'limits'; readonly askedG: number; readonly plannedG: number }
	| { readonly kind: 'room' }
	| { readonly kind: 'test before'; readonly testBatchId: number };

export interface Pending {
	readonly need: ProductionNeed | TestNeed;
	readonly greenG: number;
	readonly cause: Cause;
}

/** What a need without a slot shows; the timelines are those of the finished plan. */
export function explainUnplaced(
	problem: PlanProblem,
	timelines: readonly Timeline[],
	{ need, greenG, cause }: Pending
): Unplaced {
	const isTest = 'testBatchId' in need;
	const roasters = timelines.map(({ roaster }) => roaster);
	const ids = isTest ? [need.roasterId] : eligible(need, roasters).map(({ id }) => id);
	const own = timelines.filter(({ roaster }) => ids.includes(roaster.id));
	const [reason, wouldFit] = tell(problem, own, { need, greenG, cause });
	return {
		kind: isTest ? 'test' : 'production',
		lotId: need.lotId,
		productId: isTest ? null : need.productId,
		testBatchId: isTest ? need.testBatchId : null,
		dueMs: need.dueMs,
		greenG,
		reason,
		wouldFit
	};
}

function tell(
	problem: PlanProblem,
	timelines: readonly Timeline[],
	{ need, greenG, cause }: Pending
): readonly [readonly string[], Change | null] {
	const roasters = timelines.map(({ roaster }) => roaster);
	switch (cause.kind) {
		case 'limits': {
			const reason = describeLimits(cause.askedG, cause.plannedG, roasters);
			if (!('testBatchId' in need)) return [reason, changeForNeed(cause.askedG, roasters)];
			return [reason, changeForTest(cause.askedG, roasters[0]!)];
		}
		case 'room':
			return [
				describeRoom(problem, need, greenG, timelines),
				changeForRoom(problem, need, greenG, timelines)
			];
		case 'test before': {
			const { testBatchId } = cause;
			return [
				[`Test batch ${testBatchId}, which must be cupped first, has no slot.`],
				{
					kind: 'place first',
					testBatchId,
					text: `Find a slot for test batch ${testBatchId} first.`
				}
			];
		}
	}
}

/** Why a mass has no whole number of batches. */
function describeLimits(
	greenG: number,
	plannedG: number,
	roasters: readonly Roaster[]
): readonly string[] {
	const limits = roasters.map((roaster) => `${roaster.name} takes ${limitsOf(roaster)}`);
	const asked = `${formatKg(greenG)} asked; ${limits.join('; ')}.`;
	if (roasters.length === 0) return [`${formatKg(greenG)} asked; no roaster may take it.`];
	if (plannedG > 0) {
		return [asked, `Full batches hold ${formatKg(plannedG)}; the rest makes no batch of its own.`];
	}
	const below = roasters.every(({ minChargeG }) => greenG < minChargeG);
	return [asked, below ? 'Below every smallest charge.' : 'Above the largest charge.'];
}

/** Why a need that batches can hold has no slot. */
function describeRoom(
	problem: PlanProblem,
	need: { readonly notBeforeMs: InstantMs | null },
	greenG: number,
	timelines: readonly Timeline[]
): readonly string[] {
	const fromMs = Math.max(need.notBeforeMs ?? problem.fromMs, problem.fromMs);
	const said = timelines.flatMap(({ roaster, windows }) => {
		const split = splitsOf(greenG, [roaster])[0];
		if (!split) return [];
		const count = split.minutes / roaster.cycleMin;
		const asked = `${formatKg(split.plannedG)} ${count === 1 ? 'is 1 batch' : `are ${count} batches`} of ${roaster.cycleMin} min on ${roaster.name}`;
		const lastMs = windows.at(-1)?.endMs;
		if (lastMs === undefined) return [`${asked}, which has no shift in the plan.`];
		if (lastMs <= fromMs) {
			return [
				`${asked}, whose last shift ends ${sayInstant(lastMs, problem.zone)}; not before ${sayInstant(fromMs, problem.zone)}.`
			];
		}
		return [
			`${asked}; from ${sayInstant(fromMs, problem.zone)} no shift there has room for one more with its setup.`
		];
	});
	const least = `${formatKg(greenG)} are left over and make no batch of their own.`;
	return said.length > 0 ? said : [least];
}

export function limitsOf({ minChargeG, maxChargeG }: Roaster): string {
	return `${formatKg(minChargeG)} to ${formatKg(maxChargeG)}`;
}
