import type { FormYear } from '#lib/domain/trial/panel.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { Reader } from '../../db/client.ts';
import { countSessions, loadSessions } from '../../store/cuppings.ts';
import { loadSampleSummaries } from '../../store/samples.ts';
import { requireSite } from '../../store/site.ts';
import { loadTests, type TestRecord } from '../../store/tests.ts';
import { inputTime, momentOf, type Moment } from '../moment.ts';
import { sessionHref } from './coffee.ts';

/** The list of cupping sessions, and what a new one starts from. */

export interface SessionRow {
	readonly id: number;
	readonly href: string;
	readonly name: string;
	readonly form: FormYear;
	readonly opened: Moment & { readonly by: string };
	/** Null while it is open. */
	readonly closed: (Moment & { readonly by: string }) | null;
	readonly cups: number;
	readonly cuppers: number;
}

/** Every session, the open ones first, then the newest. */
export async function loadSessionList(
	db: Reader
): Promise<{ readonly sessions: readonly SessionRow[] }> {
	const [site, sessions, counts] = await Promise.all([
		requireSite(db),
		loadSessions(db),
		countSessions(db)
	]);
	const zone = site.timeZone;
	return {
		sessions: sessions.map((session) => ({
			...{ id: session.id, name: session.name, form: session.form },
			href: sessionHref(session.id),
			opened: { ...momentOf(session.openedAt, zone), by: session.openedBy },
			closed:
				session.closedAt === null
					? null
					: { ...momentOf(session.closedAt, zone), by: session.closedBy ?? '' },
			...(counts.get(session.id) ?? { cups: 0, cuppers: 0 })
		}))
	};
}

/** A coffee that can be put on the table. */
export interface CoffeeChoice {
	/** `test-12` or `sample-3`: its field in the form. */
	readonly key: string;
	readonly label: string;
	readonly lotName: string;
	readonly roasted: Moment;
	/** What is known of it so far: `not cupped yet`. */
	readonly state: string;
}

export interface NewSession {
	/** Roasted tests without a verdict, then those asked for. */
	readonly tests: readonly CoffeeChoice[];
	/** Samples of the last weeks, and those asked for. */
	readonly samples: readonly CoffeeChoice[];
	/** Keys that are ticked from the start. */
	readonly ticked: readonly string[];
	/** Lots whose tests and samples can be listed as well. */
	readonly lots: readonly string[];
	readonly nowInput: string;
}

const SAMPLES_BACK_MS = 60 * 86_400_000;

/**
 * What a new session can have on its table.
 * @param asked a lot whose tests and samples are listed too, and keys that start ticked
 */
export async function loadNewSession(
	db: Reader,
	now: InstantMs,
	asked: { readonly lot: string; readonly keys: readonly string[] }
): Promise<NewSession> {
	const [site, tests, samples] = await Promise.all([
		requireSite(db),
		loadTests(db),
		loadSampleSummaries(db)
	]);
	const zone = site.timeZone;
	const roasted = tests.filter(({ roast }) => roast !== null);
	const testKey = (test: TestRecord) => `test-${test.batch.id}`;
	const sampleKey = (id: number) => `sample-${id}`;
	return {
		tests: roasted
			.filter(
				(test) => !test.verdict || test.lotCode === asked.lot || asked.keys.includes(testKey(test))
			)
			.map((test) => ({
				key: testKey(test),
				label: `${test.lotCode} test ${test.batch.number}`,
				lotName: test.lotName,
				roasted: momentOf(test.roast!.roastedAt, zone),
				state: test.verdict
					? `verdict: ${test.verdict.verdict}`
					: test.cuppings.length > 0
						? 'cupped, waits for a verdict'
						: 'not cupped yet'
			})),
		samples: samples
			.filter(
				(sample) =>
					now - sample.roastedAt < SAMPLES_BACK_MS ||
					sample.lotCode === asked.lot ||
					asked.keys.includes(sampleKey(sample.id))
			)
			.toReversed()
			.map((sample) => ({
				key: sampleKey(sample.id),
				label: `${sample.lotCode} ${sample.stage} sample`,
				lotName: sample.lotName,
				roasted: momentOf(sample.roastedAt, zone),
				state: `by ${sample.by}`
			})),
		ticked: asked.keys,
		lots: [
			...new Set([
				...roasted.map(({ lotCode }) => lotCode),
				...samples.map(({ lotCode }) => lotCode)
			])
		].sort(),
		nowInput: inputTime(now, zone)
	};
}
