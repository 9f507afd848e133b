/** The lots most similar to a sample by their release, and what became of them. */
import { LOT_KINDS, type LotEvents, type Stage } from '#lib/domain/lot/lot.ts';
import { standing } from '#lib/domain/lot/standing.ts';
import { formatKg } from '#lib/domain/quantity/mass.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import {
	AXIS_FROM_C,
	type Fingerprint,
	type FingerprintAxis
} from '#lib/domain/release/fingerprint.ts';
import { nearest, type LikenessWord, type Neighbour } from '#lib/domain/release/neighbours.ts';
import { apartInRepeats } from '#lib/domain/release/plainWhitening.ts';
import { bandOf } from '#lib/domain/release/repeatability.ts';
import { testsToRelease } from '#lib/domain/trial/remaining.ts';
import { stepsText, type TestSettings } from '#lib/domain/trial/settings.ts';
import type { Reader } from '../db/client.ts';
import { loadDrumSettings } from '../store/drum.ts';
import { loadLotEvents } from '../store/lots.ts';
import { loadFingerprintProblems } from '../store/readings.ts';
import { loadRoasters, requireSite } from '../store/site.ts';
import { loadLotsTestedOn, loadRecipes, loadTests, type TestRecord } from '../store/tests.ts';
import { readBatch } from './drum.ts';
import { momentOf, type Moment } from './moment.ts';
import { lotHref, sampleHref } from './places.ts';
import { preparedLibrary, type PreparedLibrary } from './similar/library.ts';
import { testHref } from './tests.ts';

export const MOST_SIMILAR = 10;
/** How far back samples are looked at, months. */
export const AGES = [6, 12, 24, 36] as const;

export interface SimilarFilter {
	readonly kind: string;
	/** Code of a roaster that a lot was tested on. */
	readonly roaster: string;
	/** Months; null looks at all. */
	readonly months: number | null;
}

/** A curve on its axis, per mille a degree; null where the sample wasn't. */
export interface PrintedCurve {
	readonly label: string;
	readonly values: readonly (number | null)[];
}

/** A recipe as it was approved. */
export interface RecipeLine {
	readonly version: number;
	readonly roasterName: string;
	readonly charge: string;
	readonly start: string;
	readonly soak: string;
	readonly gas: string;
	readonly air: string;
}

/** What went wrong in one test. */
export interface Trouble {
	readonly label: string;
	readonly href: string;
	readonly verdict: string | null;
	readonly reason: string;
	/** `crash from 6:40`. */
	readonly faults: readonly { readonly name: string; readonly fromS: number }[];
}

export interface SimilarLot {
	readonly place: number;
	readonly lotCode: string;
	readonly lotName: string;
	readonly lotHref: string;
	readonly lotKind: string;
	readonly sampleHref: string;
	readonly stage: string;
	readonly roasted: Moment;
	/** Null where the library is too small for it. */
	readonly word: LikenessWord | null;
	/** Share of pairs of lots that are further apart, 0 to 1; null where the library is too small. */
	readonly closerThan: number | null;
	/** Times as far apart as two roasts of one lot; only where the library is too small. */
	readonly apart: number | null;
	readonly lotStage: Stage;
	readonly testsRoasted: number;
	/** Null where it was never released. */
	readonly testsToRelease: number | null;
	readonly recipe: RecipeLine | null;
	readonly troubles: readonly Trouble[];
	readonly curve: PrintedCurve;
}

export interface SimilarPage {
	readonly kinds: readonly string[];
	readonly roasters: readonly { readonly code: string; readonly name: string }[];
	readonly ages: readonly number[];
	/** Why there is nothing to compare; null where there is. */
	readonly whyNot: string | null;
	/** Why likeness is told in plain multiples; null where the library is large enough. */
	readonly tooFew: string | null;
	/** Samples and lots that were looked at, this lot's left out. */
	readonly looked: { readonly samples: number; readonly lots: number };
	readonly axis: FingerprintAxis;
	readonly fromC: number;
	readonly curve: PrintedCurve | null;
	readonly band: { readonly low: readonly number[]; readonly high: readonly number[] } | null;
	/** What the band rests on. */
	readonly bandFrom: string;
	readonly lots: readonly SimilarLot[];
}

/** The ten lots most similar to a sample. */
export async function loadSimilar(
	db: Reader,
	now: InstantMs,
	sampleId: number,
	filter: SimilarFilter
): Promise<SimilarPage> {
	const [site, roasters] = await Promise.all([requireSite(db), loadRoasters(db)]);
	const choices = {
		kinds: LOT_KINDS,
		roasters: roasters.map(({ code, name }) => ({ code, name })),
		ages: AGES
	};
	const { entries } = await preparedLibrary(db, 'bean');
	const own = entries.find((entry) => entry.sampleId === sampleId);
	const axis = own?.fingerprint.axis ?? 'bean';
	const prepared = await preparedLibrary(db, axis);
	const roasterId = roasters.find(({ code }) => code === filter.roaster)?.id ?? null;
	const tested = filter.roaster === '' ? null : await loadLotsTestedOn(db, roasterId ?? 0);
	const nothing = { ...choices, axis, fromC: AXIS_FROM_C[axis], tooFew: prepared.tooFew };
	if (!own) {
		const whyNot = await whyNoFingerprint(db, sampleId);
		const empty = {
			looked: { samples: 0, lots: 0 },
			curve: null,
			band: null,
			bandFrom: '',
			lots: []
		};
		return { ...nothing, whyNot, ...empty };
	}
	const wanted = wantedBy(prepared, own.lotId, filter, tested, now);
	const found = tenLots(own.fingerprint, prepared, wanted.is);
	const band = bandOf(own.fingerprint, prepared.repeatability);
	return {
		...nothing,
		whyNot: found.whyNot,
		looked: wanted.looked,
		curve: printed(own.lotCode, own.fingerprint),
		band: { low: band.low.map(short), high: band.high.map(short) },
		bandFrom: prepared.repeatability.because,
		lots: await Promise.all(
			found.neighbours.map((one, index) =>
				similarLot(db, one, index + 1, prepared, roasters, site.timeZone)
			)
		)
	};
}

async function whyNoFingerprint(db: Reader, sampleId: number): Promise<string> {
	const problems = await loadFingerprintProblems(db, sampleId);
	return (
		problems[0]?.message ?? 'This sample has no fingerprint yet; it gets one when it is read again.'
	);
}

const MONTH_MS = 30.4375 * 86_400_000;

/** Which samples may be an answer, and how many there are to look at. */
export function wantedBy(
	{ entries, library }: Pick<PreparedLibrary, 'entries' | 'library'>,
	lotId: number,
	{ kind, months }: SimilarFilter,
	tested: ReadonlySet<number> | null,
	now: InstantMs
) {
	const since = months === null ? -Infinity : now - months * MONTH_MS;
	const is = (index: number) => {
		const entry = entries[index]!;
		return (
			entry.lotId !== lotId &&
			(kind === '' || entry.lotKind === kind) &&
			entry.roastedAt >= since &&
			(tested === null || tested.has(entry.lotId))
		);
	};
	const looked = [...library.indexes].filter(is).map((index) => entries[index]!.lotId);
	return { is, looked: { samples: looked.length, lots: new Set(looked).size } };
}

/** The nearest sample of each of the ten nearest lots. */
export function tenLots(
	fingerprint: Fingerprint,
	{ entries, library }: Pick<PreparedLibrary, 'entries' | 'library'>,
	wanted: (index: number) => boolean
): { neighbours: Neighbour[]; whyNot: string | null } {
	// Lots have a few samples each: asked for more until ten lots are among them.
	for (let most = 2 * MOST_SIMILAR; ; most *= 2) {
		const found = nearest(fingerprint, library, most, wanted);
		if (!found.ok) return { neighbours: [], whyNot: found.problems[0]?.message ?? null };
		const lots = new Map<number, Neighbour>();
		for (const one of found.value) {
			const { lotId } = entries[one.index]!;
			if (!lots.has(lotId)) lots.set(lotId, one);
		}
		if (lots.size >= MOST_SIMILAR || found.value.length < most)
			return { neighbours: [...lots.values()].slice(0, MOST_SIMILAR), whyNot: null };
	}
}

async function similarLot(
	db: Reader,
	{ index, distance, closerThan, word }: Neighbour,
	place: number,
	{ entries, tooFew }: PreparedLibrary,
	roasters: readonly { id: number; name: string }[],
	zone: string
): Promise<SimilarLot> {
	const entry = entries[index]!;
	const { lotId } = entry;
	const [events, tests, recipes] = await Promise.all([
		loadLotEvents(db, lotId),
		loadTests(db, { lotId }),
		loadRecipes(db, lotId)
	]);
	const past = events.get(lotId)!;
	const [recipe] = recipes;
	return {
		place,
		...{ lotCode: entry.lotCode, lotName: entry.lotName, lotKind: entry.lotKind },
		lotHref: lotHref(entry.lotCode),
		sampleHref: sampleHref(entry.sampleId),
		stage: entry.stage,
		roasted: momentOf(entry.roastedAt, zone),
		word: tooFew === null ? word : null,
		closerThan: tooFew === null ? closerThan : null,
		apart: tooFew === null ? null : apartInRepeats(distance),
		...outcomeOf(past),
		recipe: recipe
			? recipeLine(recipe, roasters.find(({ id }) => id === recipe.roasterId)?.name ?? '')
			: null,
		troubles: await troublesOf(db, tests),
		curve: printed(`${place} ${entry.lotCode}`, entry.fingerprint)
	};
}

function outcomeOf(events: LotEvents) {
	const { stage } = standing(events);
	return {
		lotStage: stage,
		testsRoasted: events.tests.filter(({ roastedAt }) => roastedAt !== null).length,
		testsToRelease: testsToRelease(events)
	};
}

function recipeLine(
	recipe: { version: number; chargeG: number; settings: TestSettings },
	roasterName: string
): RecipeLine {
	const { settings } = recipe;
	return {
		version: recipe.version,
		roasterName,
		charge: formatKg(recipe.chargeG),
		start: `${settings.startC} °C`,
		soak: `${settings.soakS} s`,
		gas: stepsText(settings.gasSteps),
		air: stepsText(settings.airSteps)
	};
}

/** Tests that were not approved or whose log shows a fault. */
async function troublesOf(db: Reader, tests: readonly TestRecord[]): Promise<Trouble[]> {
	const settings = await loadDrumSettings(db);
	const found: Trouble[] = [];
	for (const { batch, lotCode, roast, verdict } of tests) {
		if (!roast) continue;
		const { chargeG, outG, logId } = roast;
		const { roasterId } = batch;
		const read = await readBatch(db, { roasterId, chargeG, outG, logId }, settings);
		const faults = read?.ok ? read.value.faults.map(({ name, fromS }) => ({ name, fromS })) : [];
		const isBad = verdict !== null && verdict.verdict !== 'approve';
		if (!isBad && faults.length === 0) continue;
		found.push({
			label: `test ${batch.number}`,
			href: testHref(lotCode, batch.number),
			verdict: verdict?.verdict ?? null,
			reason: isBad ? verdict.reason : '',
			faults
		});
	}
	return found;
}

const short = (value: number) => Number(value.toPrecision(4));

/** A fingerprint's curve for a chart, only where the sample really was. */
export function printed(label: string, print: Fingerprint): PrintedCurve {
	const from = print.knownFromC - AXIS_FROM_C[print.axis];
	const to = print.knownToC - AXIS_FROM_C[print.axis];
	return {
		label,
		values: print.curve.map((value, i) => (i >= from && i < to ? short(value) : null))
	};
}
