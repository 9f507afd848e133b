import { formatKg } from '#lib/domain/quantity/mass.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { clockOf, dayOf, instantAt } from '#lib/domain/quantity/week.ts';
import type {
	Lot,
	LotTurn,
	Measurement,
	MovementRow,
	PriceTermsRow,
	Release
} from '../../store/lots.ts';
import { panelResults } from '#lib/domain/trial/panel.ts';
import type { SampleRecord } from '../../store/logs.ts';
import type { Recipe, TestRecord } from '../../store/tests.ts';
import { sampleHref } from '../places.ts';
import { priceText } from './terms.ts';
import { resultText, scoredOf, testHref } from '../tests.ts';

/** One thing that happened to a lot. */
export interface Happening {
	readonly key: string;
	readonly day: string;
	readonly clock: string;
	readonly title: string;
	readonly href: string;
	readonly by: string;
	readonly detail: string | null;
}

export interface LotRecords {
	readonly lot: Lot;
	readonly terms: readonly PriceTermsRow[];
	readonly movements: readonly MovementRow[];
	readonly measurements: readonly Measurement[];
	readonly samples: readonly SampleRecord[];
	readonly tests: readonly TestRecord[];
	readonly recipes: readonly Recipe[];
	readonly releases: readonly Release[];
	readonly turns: readonly LotTurn[];
}

interface Told {
	readonly at: InstantMs;
	readonly title: string;
	readonly href: string;
	readonly by: string;
	readonly detail?: string;
}

/** What happened to a lot, oldest first. Production is told in one line, the ledger has every batch. */
export function lotStory(records: LotRecords, zone: string): Happening[] {
	const told: Told[] = [
		...entered(records, zone),
		...records.measurements.map((m) => measured(m)),
		...records.movements.flatMap((m) => moved(m)),
		...producedLine(records.movements),
		...records.samples.map((s) => sampled(s)),
		...records.tests.flatMap((t) => testTold(t)),
		...records.releases.map((r) => released(r, records.recipes)),
		...records.turns.map(turned)
	];
	return told
		.map((each, index) => ({ each, index }))
		.sort((a, b) => a.each.at - b.each.at || a.index - b.index)
		.map(({ each, index }) => ({
			key: `${index}`,
			day: dayOf(each.at, zone),
			clock: clockOf(each.at, zone),
			title: each.title,
			href: each.href,
			by: each.by,
			detail: each.detail ?? null
		}));
}

function entered({ lot, terms }: LotRecords, zone: string): Told[] {
	const mass = formatKg(lot.bagG * lot.bagsExpected);
	const detail = `${lot.bagsExpected} bags of ${formatKg(lot.bagG)} expected, ${mass}.`;
	return [
		{ at: lot.createdAt, title: 'Lot entered', href: '#facts', by: lot.createdBy, detail },
		...terms.toReversed().map((row, i) => ({
			at: instantAt(row.agreedOn, 0, zone),
			title: i === 0 ? 'Price agreed' : 'Price agreed anew',
			href: '#terms',
			by: row.by,
			detail: `${priceText(row)}, ${row.incoterm}.`
		}))
	];
}

function measured(m: Measurement): Told {
	const figures = [
		m.moisturePct === null ? null : `moisture ${m.moisturePct} %`,
		m.waterActivity === null ? null : `water activity ${m.waterActivity}`,
		m.densityGL === null ? null : `density ${m.densityGL} g/L`
	].filter((text) => text !== null);
	return {
		at: m.at,
		title: `Green measured, ${m.stage}`,
		href: '#green',
		by: m.by,
		...(figures.length > 0 ? { detail: `${figures.join(', ')}.` } : {})
	};
}

/** Movements that are records of their own; the others are told by the act they come from. */
function moved(m: MovementRow): Told[] {
	const titles: Partial<Record<MovementRow['kind'], string>> = {
		received: 'Received',
		'sold green': 'Sold green',
		'written off': 'Written off',
		'count difference': 'Counted'
	};
	const title = titles[m.kind];
	if (!title) return [];
	const mass = formatKg(m.kind === 'count difference' ? m.massG : Math.abs(m.massG));
	return [{ at: m.at, title: `${title}: ${mass}`, href: '#stock', by: m.by, detail: m.reason }];
}

function producedLine(movements: readonly MovementRow[]): Told[] {
	const produced = movements.filter((m) => m.kind === 'produced').sort((a, b) => a.at - b.at);
	const first = produced[0];
	if (!first) return [];
	const massG = -produced.reduce((sum, m) => sum + m.massG, 0);
	const batches = `${produced.length} ${produced.length === 1 ? 'batch' : 'batches'}`;
	const detail = `${batches} up to now, ${formatKg(massG)} of green.`;
	return [{ at: first.at, title: 'First production batch', href: '#stock', by: first.by, detail }];
}

function sampled({ sample, result }: SampleRecord): Told {
	const crack = result?.crack;
	const strength = crack?.verdict === 'weak' ? 'Weak' : 'Distinct';
	const found = crack?.peakS
		? `${strength} first crack at ${minutes(crack.peakS)}.`
		: 'No distinct first crack.';
	return {
		at: sample.roastedAt,
		title: `Sample roasted, ${sample.stage}`,
		href: sampleHref(sample.id),
		by: sample.by,
		detail: result ? found : 'Its log could not be read.'
	};
}

/** A test as it was roasted (planned, while it waits), each cupping, and the verdict with the last of them. */
function testTold(test: TestRecord): Told[] {
	const { batch, roast, verdict, cuppings, lotCode } = test;
	const href = testHref(lotCode, batch.number);
	const name = `Test ${batch.number}`;
	if (!roast) {
		const planned = { at: batch.plannedAt, by: batch.plannedBy, detail: `${batch.purpose}.` };
		return [{ ...planned, href, title: `${name} planned` }];
	}
	const masses = `${formatKg(roast.chargeG)} in, ${formatKg(roast.outG)} out, ${test.roasterName}`;
	const told = [
		{
			...{ at: roast.roastedAt, href, by: roast.by, title: `${name} roasted` },
			detail: `${batch.purpose}: ${masses}.`
		}
	];
	const tables = cuppings.map((one) => {
		const { form, score } = scoredOf(one.sheet, one.by);
		return { ...one, text: `${score} on the form of ${form}` };
	});
	const before = verdict ? tables.slice(0, -1) : tables;
	for (const { cuppedAt, by, text } of before)
		told.push({ at: cuppedAt, href, by, title: `${name} cupped`, detail: `${text}.` });
	if (verdict)
		told.push({
			...{ at: verdict.at, href, by: verdict.by, title: `${name}: ${verdict.verdict}` },
			detail: [...panelResults(cuppings).map(resultText), verdict.reason].filter(Boolean).join('; ')
		});
	return told;
}

function released(row: Release, recipes: readonly Recipe[]): Told {
	const version = recipes.find((recipe) => recipe.id === row.recipeId)?.version;
	return {
		at: row.at,
		title: `Released with recipe ${version ?? ''}`.trim(),
		href: '#recipe',
		by: `${row.roastingBy}, ${row.qualityBy}`,
		detail: row.descriptors
	};
}

function turned(turn: LotTurn): Told {
	const title = turn.turn === 'reopened' ? 'Re-opened: back to test' : 'Rejected';
	return { at: turn.at, title, href: '#recipe', by: turn.by, detail: turn.reason };
}

function minutes(seconds: number): string {
	const whole = Math.round(seconds);
	return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}
