/** The fingerprints of all samples made ready for the search, kept until one is made anew. */
import type { Fingerprint, FingerprintAxis } from '#lib/domain/release/fingerprint.ts';
import { packLibrary, type Library } from '#lib/domain/release/neighbours.ts';
import { plainWhitening } from '#lib/domain/release/plainWhitening.ts';
import { repeatabilityOf, type Repeatability } from '#lib/domain/release/repeatability.ts';
import { whiteningOf } from '#lib/domain/release/whitening.ts';
import type { Reader } from '../../db/client.ts';
import { fingerprintStamp, loadFingerprints, type LibraryEntry } from '../../store/readings.ts';

export interface PreparedLibrary {
	/** What the indexes of the search point to. */
	readonly entries: readonly LibraryEntry[];
	readonly library: Library;
	readonly repeatability: Repeatability;
	/** Why the distance is a plain one; null where it was learnt from the library. */
	readonly tooFew: string | null;
}

interface Kept {
	readonly stamp: string;
	readonly entries: readonly LibraryEntry[];
	readonly byAxis: Map<FingerprintAxis, PreparedLibrary>;
}

/** A tenth of a second to make for thousands of lots, and the same for every page until a log comes in. */
const kept = new WeakMap<Reader, Kept>();

export async function preparedLibrary(db: Reader, axis: FingerprintAxis): Promise<PreparedLibrary> {
	const stamp = await fingerprintStamp(db);
	let found = kept.get(db);
	if (found?.stamp !== stamp) {
		found = { stamp, entries: await loadFingerprints(db), byAxis: new Map() };
		kept.set(db, found);
	}
	const made = found.byAxis.get(axis) ?? prepare(found.entries, axis);
	found.byAxis.set(axis, made);
	return made;
}

/** Roasts of one lot at one stage: what moved or aged between is a difference, no repeat. */
export function repeatGroups(entries: readonly LibraryEntry[]): Fingerprint[][] {
	const groups = Map.groupBy(entries, ({ lotId, stage }) => `${lotId} ${stage}`);
	return [...groups.values()].map((group) => group.map(({ fingerprint }) => fingerprint));
}

/** The library of one axis. */
export function prepare(entries: readonly LibraryEntry[], axis: FingerprintAxis): PreparedLibrary {
	const prints = entries.map(({ fingerprint }) => fingerprint);
	const repeats = repeatGroups(entries);
	const repeatability = repeatabilityOf(repeats, axis);
	const learnt = whiteningOf(prints, repeats, axis);
	const whitening = learnt.ok ? learnt.value : plainWhitening(repeatability);
	return {
		entries,
		library: packLibrary(whitening, prints),
		repeatability,
		tooFew: learnt.ok ? null : (learnt.problems[0]?.message ?? null)
	};
}
