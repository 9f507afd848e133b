import type { Content, TDocumentDefinitions } from 'pdfmake/interfaces.js';
import type { FloorSheet, FloorSlot } from '../views/floor.ts';
import { dayWords } from '../views/words.ts';
import { paper, remark, ruledTable, SOFT } from './paper.ts';
import { fixed } from './text.ts';

/** A roaster's day on paper for the floor: how to roast each batch, with room to write what happened. */

export function daySheet(sheet: FloorSheet): TDocumentDefinitions {
	const { siteName, roaster, day, label, hours, at, next, later, done } = sheet;
	const open = next ? [next, ...later] : [];
	return paper(
		{
			title: `Day sheet ${roaster.code} ${day}`,
			about: `Day sheet, ${roaster.name}, ${label}`,
			...{ siteName, madeAt: at },
			orientation: 'landscape'
		},
		[
			{ text: `${siteName} · Day sheet, ${dayWords(day)}`, style: 'small' },
			{ text: `${roaster.name}, ${label}`, style: 'title', margin: [0, 1, 0, 2] },
			hours.length > 0 ? `Staffed ${hours.join(', ')}.` : 'No shift of this roaster on this day.',
			remark(
				'Caution. A sheet is advice, never an instruction to a burner. A trained operator starts each batch, within the machine maker’s limits and with the extraction running: roasting is a fire hazard, and fresh roasted coffee gives off carbon monoxide. Local fire, gas and workplace-air codes come first.'
			),
			...(open.length > 0 ? [toCome(open)] : [remark('No batch of this day is still to come.')]),
			...(done.length > 0 ? [recorded(done)] : [])
		]
	);
}

function toCome(slots: readonly FloorSlot[]): Content {
	return ruledTable(
		[
			{ label: 'Start', width: 34 },
			{ label: 'What', width: 150 },
			{ label: 'Charge kg', width: 44, numeric: true },
			{ label: 'How, and what comes first', width: '*' },
			{ label: 'Started', width: 46 },
			{ label: 'Charged kg', width: 46 },
			{ label: 'Out kg', width: 46 },
			{ label: 'Note', width: 70 }
		],
		slots.map((slot) => [
			{ text: slot.start, bold: true },
			`${slot.title}, ${slot.lotName}${slot.purpose ? `: ${slot.purpose}` : ''}`,
			fixed(slot.chargeG / 1000, 2),
			howText(slot),
			...[blank(), blank(), blank(), blank()]
		]),
		{ caption: 'To come', tall: true }
	);
}

function recorded(slots: readonly FloorSlot[]): Content {
	return ruledTable(
		[
			{ label: 'Started', width: 40 },
			{ label: 'Planned', width: 40 },
			{ label: 'What', width: 200 },
			{ label: 'Charge kg', width: 50, numeric: true },
			{ label: 'Out kg', width: 50, numeric: true },
			{ label: 'Note', width: '*' }
		],
		slots.map(({ start, planned, title, chargeG, record }) => [
			...[start, planned, title, fixed(chargeG / 1000, 2)],
			record?.outG ? fixed(record.outG / 1000, 2) : '–',
			record?.note ?? ''
		]),
		{ caption: 'Recorded' }
	);
}

function howText({ setup, settings, settingsOf, movedMin, planned }: FloorSlot): string {
	return [
		...setup.map(({ kind, minutes, because }) => `First ${kind} ${minutes} min: ${because}`),
		...(settingsOf
			? [`${settings.map(({ label, text }) => `${label} ${text}`).join(', ')} (${settingsOf})`]
			: ['No recipe on this roaster: as agreed with the roasting lead']),
		...(movedMin !== 0 ? [`planned ${planned}`] : [])
	].join('; ');
}

/** A line to write on. */
function blank() {
	return { text: '. . . . . . . .', color: SOFT, noWrap: true };
}
