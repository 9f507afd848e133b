import type { Stamp } from './calendar.ts';
import { PEOPLE, productOf } from './cast.ts';
import { chanceFrom } from './chance.ts';
import { gasStepsFor, simulateDrum, stepAt, usualGoal, type DrumSettings } from './drum.ts';
import type { TimedBatch } from './floor.ts';
import { drumLogText } from './logs.ts';
import { DROP, DRUMS } from './programme.ts';
import type { CodedLot, LotStory, TestStory } from './story.ts';
import { num, table, type Cell } from './text.ts';

/**
 * Logs of the production batches of some released lots, and colour values of these and of approved tests.
 * Everything here draws from its own seeds, so that no other file changes with it.
 */

interface LoggedLot {
	readonly code: string;
	/** So many of its last batches have a log. */
	readonly last: number;
	/** Share of its heat that the burner loses with each batch from `from` on, though the setting says otherwise. */
	readonly fades: { readonly from: number; readonly share: number } | null;
}

const LOGGED: readonly LoggedLot[] = [
	{ code: 'HR-141', last: 30, fades: { from: 16, share: 0.006 } },
	{ code: 'HR-143', last: 14, fades: null },
	{ code: 'HR-149', last: 18, fades: null }
];

const SCALE = 'Halden colour scale';

interface LoggedBatch {
	readonly code: string;
	readonly batch: TimedBatch;
	readonly path: string;
	readonly text: string;
	/** Probe at the drop, C. */
	readonly dropC: number;
}

/** Files of this part by their paths. */
export function productionLogFiles(
	batches: readonly TimedBatch[],
	lots: readonly CodedLot[]
): Map<string, string> {
	const logged = LOGGED.flatMap((one) => {
		const lot = lots.find(({ code }) => code === one.code)?.lot;
		return lot ? loggedBatches(one, lot, batches) : [];
	});
	const files = new Map<string, string>();
	files.set(
		'production_logs.csv',
		table(
			['lot', 'roaster', 'roasted_at', 'log_file', 'by'],
			logged.map(({ code, batch, path }) => [code, batch.roaster, batch.at, path, batch.by])
		)
	);
	files.set('colours.csv', coloursFile(logged, lots));
	for (const { path, text } of logged) files.set(path, text);
	return files;
}

function loggedBatches(
	{ code, last, fades }: LoggedLot,
	lot: LotStory,
	batches: readonly TimedBatch[]
): LoggedBatch[] {
	const approved = approvedTest(lot);
	if (!approved) return [];
	const own = batches
		.filter((batch) => batch.lot === lot && batch.roaster === approved.roaster)
		.slice(-last);
	return own.map((batch, place) => {
		const lost = fades ? fades.share * Math.max(0, place - fades.from) : 0;
		const { log, dropC } = roastOf(batch, approved, 1 - lost);
		const path = `logs/production/${code}-${batch.at.replace(' ', '-').replace(':', '')}.csv`;
		return { code, batch, path, text: drumLogText(log, batch.roaster === 'D60'), dropC };
	});
}

function approvedTest(lot: LotStory): TestStory | undefined {
	return lot.tests.findLast((test) => test.verdict?.verdict === 'approve');
}

/** The recipe roasted once more, with its gas set for this charge and as much of the heat as there is. */
function roastOf(batch: TimedBatch, approved: TestStory, heat: number) {
	const chance = chanceFrom(`production ${batch.lot.key} ${batch.at}`);
	const drum = DRUMS[batch.roaster];
	const { gasSteps: _, ...asTested } = approved.settings;
	const base = { ...asTested, chargeG: batch.chargeG };
	const gasSteps = gasStepsFor(batch.lot.bean, drum, base, usualGoal(batch.lot.bean));
	const set: DrumSettings = { ...base, gasSteps };
	const share = heat * chance.tame(1, 0.006);
	const roast = simulateDrum({
		kind: batch.lot.kind,
		seed: `production ${batch.lot.key} ${batch.at}`,
		settings: {
			...set,
			startC: set.startC + chance.tame(0, 1),
			gasSteps: gasSteps.map(({ atS, pct }) => ({ atS, pct: pct * share }))
		},
		roaster: drum,
		params: batch.lot.bean,
		drop: DROP[productOf(batch.product).shade]
	});
	const gasPct = roast.log.timeS.map((seconds) => {
		const asked = stepAt(gasSteps, seconds);
		return seconds < set.soakS ? Math.min(asked, 20) : asked;
	});
	const log = { ...roast.log, channels: { ...roast.log.channels, gasPct } };
	return { log, dropC: lastOf(log.channels.beanC) };
}

function lastOf(values: Float64Array | undefined): number {
	return values?.at(-1) ?? NaN;
}

/** Darker with a hotter drop; higher is lighter. Ours, without a source. */
function colourOf(dropC: number, seed: string): string {
	return num(62 - 0.9 * (dropC - 212) + chanceFrom(`colour ${seed}`).tame(0, 0.35), 1);
}

function coloursFile(logged: readonly LoggedBatch[], lots: readonly CodedLot[]): string {
	const rows: Cell[][] = lots.flatMap(({ code, lot }) => {
		const approved = approvedTest(lot);
		if (!approved?.roast) return [];
		const value = colourOf(lastOf(approved.roast.log.channels.beanC), `${lot.key} test`);
		return [
			[code, approved.number, '', '', later(approved.roast.at, 30), value, SCALE, PEOPLE.quality]
		];
	});
	for (const { code, batch, dropC } of logged)
		rows.push([
			...[code, '', batch.roaster, batch.at, later(batch.at, 25)],
			...[colourOf(dropC, `${code} ${batch.at}`), SCALE, batch.by]
		]);
	return table(
		['lot', 'test', 'roaster', 'roasted_at', 'at', 'colour_value', 'colour_scale', 'by'],
		rows
	);
}

/** So many minutes later on the same day. */
function later(at: Stamp, minutes: number): Stamp {
	const [day = '', clock = ''] = at.split(' ');
	const [hours = 0, past = 0] = clock.split(':').map(Number);
	const whole = (hours * 60 + past + minutes) * 60;
	const [h = '', m = ''] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60].map((n) =>
		String(n).padStart(2, '0')
	);
	return `${day} ${h}:${m}` as Stamp;
}
