import { countDescriptors, type DescriptorCount } from '#lib/domain/trial/descriptors.ts';
import { formOf, panelResults, type FormYear, type PanelResult } from '#lib/domain/trial/panel.ts';
import { scoreChange, type ScoreChange } from '#lib/domain/trial/sampleChange.ts';
import type { Reader } from '../../db/client.ts';
import { loadCuppings, loadOpenSessionsOf, type Cupping } from '../../store/cuppings.ts';
import { momentOf, type Moment } from '../moment.ts';
import { scoredOf, type Scored } from '../tests.ts';
import { sessionHref } from './coffee.ts';
import { panelSheet } from './session.ts';

/** Cuppings of sample roasts: of one sample, and of a lot's samples side by side. */

export interface SampleSheet extends Scored {
	readonly key: number;
	readonly at: Moment;
	readonly descriptors: string;
	readonly note: string;
	readonly session: {
		readonly name: string;
		readonly href: string;
		readonly wasBlind: boolean;
	} | null;
}

export interface SampleCupping {
	readonly results: readonly PanelResult[];
	readonly descriptors: readonly DescriptorCount[];
	readonly sheets: readonly SampleSheet[];
	/** Open sessions that have it on the table. */
	readonly onTable: readonly { readonly name: string; readonly href: string }[];
}

/** What was cupped of one sample. */
export async function loadSampleCupping(
	db: Reader,
	sampleId: number,
	zone: string
): Promise<SampleCupping> {
	const [cuppings, open] = await Promise.all([
		loadCuppings(db, { sampleId }),
		loadOpenSessionsOf(db, { sampleId })
	]);
	return {
		results: panelResults(cuppings),
		descriptors: countDescriptors(cuppings.map(({ descriptors }) => descriptors)),
		sheets: cuppings.map((one) => sheetView(one, zone)),
		onTable: open.map(({ id, name }) => ({ name, href: sessionHref(id) }))
	};
}

function sheetView(one: Cupping, zone: string): SampleSheet {
	const { session } = one;
	return {
		...scoredOf(one.sheet, one.by),
		...{ key: one.id, at: momentOf(one.cuppedAt, zone) },
		...{ descriptors: one.descriptors, note: one.note },
		session: session && {
			...{ name: session.name, wasBlind: session.wasBlind },
			href: sessionHref(session.id)
		}
	};
}

/** Cuppings of a lot's samples beside each other, and whether the later one differs from the earlier. */
export interface CuppingComparison {
	/** One for each sample, in their order. */
	readonly samples: readonly {
		readonly results: readonly PanelResult[];
		readonly descriptors: readonly DescriptorCount[];
	}[];
	readonly forms: readonly FormYear[];
	/** Of the chosen two on each form that some cupper scored both on. */
	readonly changes: readonly {
		readonly form: FormYear;
		readonly change: ScoreChange;
		readonly words: string;
	}[];
}

/** @param chosen ids of the earlier and the later sample; null where there are not two */
export async function loadCuppingComparison(
	db: Reader,
	sampleIds: readonly number[],
	chosen: { readonly earlier: number; readonly later: number } | null
): Promise<CuppingComparison> {
	const [ofSamples, inSessions] = await Promise.all([
		loadCuppings(db, { ofSamples: true }),
		loadCuppings(db, { inSessions: true })
	]);
	const samples = sampleIds.map((id) => {
		const own = ofSamples.filter(({ sampleId }) => sampleId === id);
		return {
			results: panelResults(own),
			descriptors: countDescriptors(own.map(({ descriptors }) => descriptors))
		};
	});
	const forms = (['2004', '2024'] as const).filter((form) =>
		samples.some(({ results }) => results.some((result) => result.form === form))
	);
	const changes = forms.flatMap((form) => {
		if (!chosen) return [];
		const sheets = inSessions.filter(({ sheet }) => formOf(sheet) === form).map(panelSheet);
		const change = scoreChange(sheets, `sample ${chosen.earlier}`, `sample ${chosen.later}`);
		return change ? [{ form, change, words: changeWords(change) }] : [];
	});
	return { samples, forms, changes };
}

function changeWords({ difference, cuppers, where, limit, isOutside }: ScoreChange): string {
	const way = difference < 0 ? 'lower' : 'higher';
	const who = cuppers === 1 ? '1 cupper who scored both' : `${cuppers} cuppers who scored both`;
	const table = where === 'one table' ? 'on one table' : 'at different sessions';
	const found = `${Math.abs(difference).toFixed(2)} points ${way} than the earlier, by ${who} ${table}`;
	if (limit === null || isOutside === null)
		return `${found}. Whether that is more than repeats differ can't be told: too few coffees were cupped twice.`;
	const near = `repeats of the panel lie within ${limit.toFixed(2)}`;
	return isOutside
		? `${found}: more than repeats differ (${near}).`
		: `${found}: as repeats do (${near}).`;
}
