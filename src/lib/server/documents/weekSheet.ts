import type { Content, ContentText, TDocumentDefinitions } from 'pdfmake/interfaces.js';
import type { SlotView, WeekView } from '../views/week.ts';
import { dayWords } from '../views/words.ts';
import { paper, remark, ruledTable, section, SOFT } from './paper.ts';
import { fixed, kgText, percent, timeOfDayText } from './text.ts';

/** The week on paper for the roasting floor: what runs when, with room to write what really happened. */

export function weekSheet(view: WeekView): TDocumentDefinitions {
	const { week, siteName, at, plan } = view;
	const title = `Week ${Number(week.slice(6))}, ${week.slice(0, 4)}`;
	return paper(
		{
			title: `Week sheet ${week}`,
			about: `Week sheet, ${title}`,
			...{ siteName, madeAt: at },
			orientation: 'landscape'
		},
		[
			{ text: `${siteName} · Week sheet`, style: 'small' },
			{ text: title, style: 'title', margin: [0, 1, 0, 2] },
			{
				text: [
					`${dayWords(view.firstDay)} to ${dayWords(view.lastDay)}. `,
					plan ? `Planned ${plan.at} by ${plan.by}.` : 'This week is not planned.',
					plan && plan.changes > 0
						? { text: ` Records have changed since (${plan.lastChange}).`, bold: true }
						: ''
				]
			},
			...(plan ? planned(view) : [])
		]
	);
}

function planned({ days, plan, hasShifts }: WeekView): Content[] {
	const tables = days.flatMap((day) =>
		day.roasters
			.filter(({ slots }) => slots.length > 0)
			.map((roaster) => slotTable(`${day.label}, ${roaster.name}`, roaster.slots))
	);
	return [
		...unplaced(plan!),
		...minutes(plan!),
		...(tables.length > 0
			? tables
			: [remark(hasShifts ? 'No batch is planned.' : 'No roaster has shifts in this week.')])
	];
}

function slotTable(caption: string, slots: readonly SlotView[]): Content {
	return ruledTable(
		[
			{ label: 'Start', width: 30 },
			{ label: 'End', width: 30 },
			{ label: 'Lot', width: 122 },
			{ label: 'For', width: 150 },
			{ label: 'Charge kg', width: 44, numeric: true },
			{ label: 'Before it, and notes', width: '*' },
			{ label: 'Charged at', width: 50 },
			{ label: 'Charged kg', width: 50 },
			{ label: 'Out kg', width: 44 },
			{ label: 'By', width: 36 }
		],
		slots.map((slot) => [
			{ text: timeOfDayText(slot.fromMin), bold: true },
			timeOfDayText(slot.toMin),
			`${slot.lotCode} ${slot.lotName}`,
			purposeOf(slot),
			fixed(slot.chargeG / 1000, 2),
			notesOf(slot),
			...[blank(), blank(), blank(), blank()]
		]),
		{ caption, tall: true }
	);
}

function purposeOf(slot: SlotView): ContentText {
	if (slot.kind === 'production') return { text: slot.productName ?? 'no product' };
	return {
		text: [
			{ text: `TEST ${slot.testNumber ?? ''}`.trim(), bold: true },
			`: ${slot.testPurpose ?? ''}`
		]
	};
}

function notesOf(slot: SlotView): string {
	return [
		...slot.setup.map(({ kind, minutes, because }) => `${kind} ${minutes} min: ${because}`),
		...(slot.late ? ['ends after it is due'] : []),
		...(slot.locked ? ['fixed by hand'] : [])
	].join('; ');
}

/** A line to write on. */
function blank(): ContentText {
	return { text: '. . . . . . . .', color: SOFT, noWrap: true };
}

function unplaced({ unplaced: rows }: NonNullable<WeekView['plan']>): Content[] {
	if (rows.length === 0)
		return [remark('Everything fits: each order and waiting test has its slots.')];
	return [
		section('What did not fit'),
		ruledTable(
			[
				{ label: 'What', width: 150 },
				{ label: 'Green kg', width: 50, numeric: true },
				{ label: 'Due', width: 80 },
				{ label: 'Why', width: '*' },
				{ label: 'Smallest change that would do', width: '*' }
			],
			rows.map((one) => [
				one.kind === 'test'
					? `${one.lotCode} test ${one.testNumber ?? ''}`
					: `${one.lotCode} for ${one.productName ?? 'no product'}`,
				kgText(one.greenG),
				one.due,
				one.reasons.join(' '),
				one.change ?? 'No single change was found.'
			])
		)
	];
}

function minutes({ minutes: rows }: NonNullable<WeekView['plan']>): Content[] {
	return [
		section('Minutes from the planning on'),
		ruledTable(
			[
				{ label: 'Roaster', width: 180 },
				...['Production', 'Tests', 'Setup', 'Used', 'Available', 'Share'].map((label) => ({
					...{ label, width: 70 as const },
					numeric: true
				}))
			],
			rows.map((m) => [
				m.name,
				...[m.productionMin, m.testMin, m.setupMin, m.usedMin, m.availableMin].map((n) => fixed(n)),
				percent(m.availableMin > 0 ? m.usedMin / m.availableMin : null, 0)
			])
		)
	];
}
