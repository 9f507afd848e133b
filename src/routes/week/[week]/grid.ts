import type { WeekDay, WeekSlot } from '#lib/ui/charts/week.ts';
import { kgWithUnit } from '#lib/ui/format/number.ts';
import type { PageData } from './$types';

type DayView = PageData['week']['days'][number];
export type SlotView = DayView['roasters'][number]['slots'][number];

/** The week's slots, with the setup before each, as the grid draws them. */
export function gridDays(week: string, days: readonly DayView[]): WeekDay[] {
	return days.map((day) => ({
		day: day.day,
		label: day.label,
		roasters: day.roasters.map((roaster) => ({
			name: roaster.code,
			windows: roaster.windows,
			slots: roaster.slots.flatMap((slot) => [...setupBlocks(week, slot), block(week, slot)])
		}))
	}));
}

/** Where a slot says why it is where it is. */
export function slotHref(week: string, slot: SlotView): string {
	// What a search found has numbers below zero until it is kept.
	return `/week/${week}?${slot.id < 0 ? 'show=found&' : ''}slot=${slot.id}#slot`;
}

/** `HR-151 test 2`, or lot and product. */
export function slotTitle(slot: SlotView): string {
	return slot.kind === 'test'
		? `${slot.lotCode} test ${slot.testNumber ?? ''}`.trim()
		: `${slot.lotCode} for ${slot.productName ?? 'no product'}`;
}

function block(week: string, slot: SlotView): WeekSlot {
	return {
		fromMin: slot.fromMin,
		toMin: slot.toMin,
		kind: slot.kind,
		label: slot.kind === 'test' ? `${slot.lotCode} no. ${slot.testNumber ?? ''}` : slot.lotCode,
		detail: [kgWithUnit(slot.chargeG), slot.productCode].filter(Boolean).join(' '),
		href: slotHref(week, slot),
		late: slot.late,
		locked: slot.locked,
		moveId: slot.canMove ? slot.id : null
	};
}

/** Setup ends where its slot starts; the last of several comes last. */
function setupBlocks(week: string, slot: SlotView): WeekSlot[] {
	const blocks: WeekSlot[] = [];
	let toMin = slot.fromMin;
	for (const { kind, minutes, because } of slot.setup.toReversed()) {
		const fromMin = toMin - minutes;
		const name = { label: `${minutes} min`, detail: because };
		blocks.unshift({
			...name,
			...{
				fromMin,
				toMin,
				kind,
				href: slotHref(week, slot),
				late: false,
				locked: false,
				moveId: null
			}
		});
		toMin = fromMin;
	}
	return blocks;
}
