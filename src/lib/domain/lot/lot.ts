import type { Day, InstantMs } from '../quantity/time.ts';

/** The facts of a lot and what has happened to it, as far as its stage depends on them. */

export const LOT_KINDS = ['washed', 'natural', 'honey', 'decaf', 'old crop', 'anaerobic'] as const;
export type LotKind = (typeof LOT_KINDS)[number];

export const SAMPLE_STAGES = ['offer', 'pre-shipment', 'arrival'] as const;
export type SampleStage = (typeof SAMPLE_STAGES)[number];

/** In the order of a lot's life; `rejected` can come from any stage before release. */
export const STAGES = [
	'expected',
	'arrived',
	'sample roasted',
	'queued for test',
	'in test',
	'in review',
	'released',
	'used up',
	'rejected'
] as const;
export type Stage = (typeof STAGES)[number];

export const VERDICTS = ['approve', 'adjust', 'reject'] as const;
export type Verdict = (typeof VERDICTS)[number];

/** One test batch as far as the life of its lot depends on it. */
export interface TestEvents {
	readonly number: number;
	readonly plannedAt: InstantMs;
	readonly roastedAt: InstantMs | null;
	readonly cuppedAt: InstantMs | null;
	readonly verdictAt: InstantMs | null;
	readonly verdict: Verdict | null;
}

/** Everything recorded about a lot that its stage is derived from. */
export interface LotEvents {
	readonly createdAt: InstantMs;
	readonly receivedAt: InstantMs | null;
	/** First sample roast of the arrived coffee. */
	readonly arrivalSampleAt: InstantMs | null;
	readonly tests: readonly TestEvents[];
	/** Every release, oldest first. */
	readonly releasedAt: readonly InstantMs[];
	/** Every re-opening of a released lot, oldest first. */
	readonly reopenedAt: readonly InstantMs[];
	readonly rejectedAt: InstantMs | null;
	readonly onHandG: number;
	/** When the ledger last brought the lot to zero; null while there is stock or none came. */
	readonly emptiedAt: InstantMs | null;
}

/** What is done next to a lot. */
export const NEXT_ACTS = [
	'weigh in',
	'roast sample',
	'plan test',
	'roast test',
	'cup test',
	'give verdict',
	'release',
	'correct stock',
	'clear stock'
] as const;

/** The next act with the test it is about; null where it is about none. */
export interface NextAct {
	readonly kind: (typeof NEXT_ACTS)[number];
	readonly test: number | null;
}

/** A stage with the record that put the lot there. */
export interface Standing {
	readonly stage: Stage;
	readonly since: InstantMs;
	/** One sentence naming the record the stage comes from. */
	readonly because: string;
	/** What a person should do next, or null when nothing is to be done. */
	readonly nextStep: string | null;
	/** The same for a program; null exactly when `nextStep` is. */
	readonly nextAct: NextAct | null;
}

/** A date by which a lot must be released, and why. */
export interface ReleaseBy {
	readonly day: Day;
	readonly because: string;
}
