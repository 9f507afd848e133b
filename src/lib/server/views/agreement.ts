/** How far the computed first crack and the one marked by ear agree, over all samples that have both. */
import { LOT_KINDS, SAMPLE_STAGES } from '#lib/domain/lot/lot.ts';
import type { CrackReading } from '#lib/domain/release/reading.ts';
import {
	agreementByGroup,
	agreementOf,
	differencePoints,
	type Agreement
} from '#lib/domain/stats/agreement.ts';
import type { Reader } from '../db/client.ts';
import { loadSampleSummaries, type SampleSummary } from '../store/samples.ts';
import { requireSite } from '../store/site.ts';
import { momentOf, type Moment } from './moment.ts';
import { lotHref, sampleHref } from './places.ts';

/** Which computed moment is set against the one heard. */
export const FIGURES = ['onset', 'half-cracked'] as const;
export type CrackFigure = (typeof FIGURES)[number];

export const HEARD_VERDICTS = ['distinct', 'weak'] as const;

export interface AgreementFilter {
	readonly figure: CrackFigure;
	readonly kind: string;
	readonly stage: string;
	readonly verdict: string;
	readonly person: string;
}

/** A sample with both marks, seconds from charge. */
export interface HeardPair {
	readonly id: number;
	readonly href: string;
	readonly lotCode: string;
	readonly lotHref: string;
	readonly lotKind: string;
	readonly stage: string;
	readonly person: string;
	readonly roasted: Moment;
	readonly verdict: CrackReading['verdict'];
	readonly computedS: number;
	readonly heardS: number;
	readonly meanS: number;
	/** Computed less heard. */
	readonly differenceS: number;
	/** Outside the limits of agreement of what is shown. */
	readonly isOutside: boolean;
}

export interface AgreementRow {
	readonly group: string;
	readonly lots: number;
	readonly agreement: Agreement;
}

/** A sample that has one of the marks only. */
export interface OneMark {
	readonly label: string;
	readonly href: string;
	readonly atS: number;
}

export interface AgreementPage {
	readonly figure: CrackFigure;
	/** Largest difference first. */
	readonly pairs: readonly HeardPair[];
	readonly all: AgreementRow;
	readonly byKind: readonly AgreementRow[];
	readonly byPerson: readonly AgreementRow[];
	/** Heard, but none found in the curve. */
	readonly onlyHeard: readonly OneMark[];
	readonly onlyComputed: number;
	readonly samples: number;
	readonly kinds: readonly string[];
	readonly stages: readonly string[];
	readonly persons: readonly string[];
}

/** Crack marked by ear, on the record or in the log; null where nobody marked it. */
function heardOf({ earCrackS, reading }: SampleSummary): number | null {
	return earCrackS ?? reading?.inputs.earCrackS ?? null;
}

function computedOf({ reading }: SampleSummary, figure: CrackFigure): number | null {
	if (!reading) return null;
	return figure === 'onset' ? reading.crack.onsetS : reading.crack.peakS;
}

export async function loadAgreementPage(
	db: Reader,
	filter: AgreementFilter
): Promise<AgreementPage> {
	const [site, summaries] = await Promise.all([requireSite(db), loadSampleSummaries(db)]);
	return agreementPage(summaries, filter, site.timeZone);
}

/** The page from its samples. */
export function agreementPage(
	summaries: readonly SampleSummary[],
	filter: AgreementFilter,
	zone: string
): AgreementPage {
	const { figure } = filter;
	const found = summaries.filter(
		(s) =>
			(filter.kind === '' || s.lotKind === filter.kind) &&
			(filter.stage === '' || s.stage === filter.stage) &&
			(filter.person === '' || s.by === filter.person) &&
			(filter.verdict === '' || s.reading?.crack.verdict === filter.verdict)
	);
	const both = found.flatMap((s) => pairOf(s, figure, zone) ?? []);
	const all = rowOf('all', both);
	const { spread } = all.agreement;
	const pairs = both
		.map((pair) => ({
			...pair,
			isOutside:
				spread !== null &&
				(pair.differenceS < spread.lowerLimit.value || pair.differenceS > spread.upperLimit.value)
		}))
		.toSorted((a, b) => Math.abs(b.differenceS) - Math.abs(a.differenceS) || a.id - b.id);
	return {
		figure,
		pairs,
		all,
		byKind: rowsBy(both, (pair) => pair.lotKind),
		byPerson: rowsBy(both, (pair) => pair.person),
		onlyHeard: found.flatMap((s) => onlyHeard(s, figure) ?? []),
		onlyComputed: found.filter((s) => heardOf(s) === null && computedOf(s, figure) !== null).length,
		samples: found.length,
		kinds: LOT_KINDS,
		stages: SAMPLE_STAGES,
		persons: [...new Set(summaries.map(({ by }) => by))].sort()
	};
}

function pairOf(s: SampleSummary, figure: CrackFigure, zone: string): HeardPair | null {
	const computedS = computedOf(s, figure);
	const heardS = heardOf(s);
	if (computedS === null || heardS === null || !s.reading) return null;
	const [point] = differencePoints([{ a: computedS, b: heardS }]);
	return {
		...{ id: s.id, lotCode: s.lotCode, lotKind: s.lotKind, stage: s.stage, person: s.by },
		href: sampleHref(s.id),
		lotHref: lotHref(s.lotCode),
		roasted: momentOf(s.roastedAt, zone),
		verdict: s.reading.crack.verdict,
		...{ computedS, heardS },
		meanS: point!.mean,
		differenceS: point!.difference,
		isOutside: false
	};
}

function onlyHeard(s: SampleSummary, figure: CrackFigure): OneMark | null {
	const atS = heardOf(s);
	if (atS === null || computedOf(s, figure) !== null) return null;
	return { label: `${s.lotCode}, ${s.stage}`, href: sampleHref(s.id), atS };
}

const asPair = (pair: HeardPair) => ({ a: pair.computedS, b: pair.heardS });
const lotsOf = (pairs: readonly HeardPair[]) => new Set(pairs.map(({ lotCode }) => lotCode)).size;

function rowOf(group: string, pairs: readonly HeardPair[]): AgreementRow {
	return { group, lots: lotsOf(pairs), agreement: agreementOf(pairs.map(asPair)) };
}

function rowsBy(pairs: readonly HeardPair[], group: (pair: HeardPair) => string): AgreementRow[] {
	const members = Map.groupBy(pairs, group);
	const grouped = agreementByGroup(pairs.map((pair) => ({ ...asPair(pair), group: group(pair) })));
	return grouped.groups.map(({ group: name, agreement }) => ({
		group: name,
		lots: lotsOf(members.get(name)!),
		agreement
	}));
}
