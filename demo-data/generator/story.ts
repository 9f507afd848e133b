import type { LotKind, SampleStage, Verdict } from '#lib/domain/lot/lot.ts';
import type { RoastLog } from '#lib/domain/curve/log.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import type { BeanParams } from './bean.ts';
import type { Stamp } from './calendar.ts';
import type { Chain, RoasterCode } from './cast.ts';
import type { DrumSettings } from './drum.ts';
import type { SampleRoast } from './simulate.ts';

/** What the generator knows about a lot before it is written down as rows. Masses in grams. */
export interface LotStory {
	/** Chain and place in it, `A3`; the code people use is given when all lots are known. */
	readonly key: string;
	readonly chain: Chain;
	readonly kind: LotKind;
	readonly name: string;
	readonly country: string;
	readonly producer: string;
	readonly variety: string;
	readonly bean: BeanParams;
	readonly replaces: LotStory | null;
	readonly createdAt: Stamp;
	expectedOn: Day;
	bags: number;
	neededOn: Day | null;
	note: string;
	receivedAt: Stamp | null;
	receivedG: number;
	readonly movements: MovementStory[];
	readonly measurements: MeasurementStory[];
	readonly samples: SampleStory[];
	readonly tests: TestStory[];
	readonly releases: ReleaseStory[];
	readonly turns: TurnStory[];
}

export interface MovementStory {
	readonly at: Stamp;
	readonly kind: 'received' | 'sold green' | 'written off' | 'count difference';
	readonly massG: number;
	readonly reason: string;
	readonly by: string;
}

export interface MeasurementStory {
	readonly stage: SampleStage;
	readonly at: Stamp;
	readonly moisturePct: number;
	readonly waterActivity: number;
	readonly densityGL: number;
	readonly screen16UpPct: number;
	readonly defectsPer300G: number;
	readonly by: string;
}

export interface SampleStory {
	readonly stage: SampleStage;
	readonly at: Stamp;
	readonly by: string;
	readonly roast: SampleRoast;
	readonly dialect: number;
	readonly fan: 'steady' | 'step logged' | 'step not logged';
	readonly sensorLagKnown: boolean;
	readonly earCrackS: number | null;
	readonly note: string;
}

export interface TestStory {
	readonly number: number;
	readonly plannedAt: Stamp;
	readonly purpose: string;
	readonly change: string;
	readonly roaster: RoasterCode;
	readonly settings: DrumSettings;
	roast: TestRoastStory | null;
	cupping: CuppingStory | null;
	verdict: { readonly at: Stamp; readonly verdict: Verdict; readonly reason: string } | null;
	recoveries: RecoveryStory[];
}

export interface TestRoastStory {
	readonly at: Stamp;
	readonly by: string;
	readonly outG: number;
	readonly log: RoastLog;
	readonly note: string;
}

export interface CuppingStory {
	readonly at: Stamp;
	readonly form: '2004' | '2024';
	readonly scores: readonly number[];
	readonly taints: number;
	readonly faults: number;
	readonly descriptors: string;
}

export interface RecoveryStory {
	readonly at: Stamp;
	readonly kind: 'full' | 'reduced' | 'blended off' | 'written off';
	readonly massG: number;
	readonly value: number;
	readonly product: string | null;
}

export interface ReleaseStory {
	readonly at: Stamp;
	readonly test: number;
	readonly descriptors: string;
	readonly pricePerKg: number;
}

export interface TurnStory {
	readonly at: Stamp;
	readonly turn: 'reopened' | 'rejected';
	readonly by: string;
	readonly reason: string;
}

/** A production batch; its time of day is given when the whole week is known. */
export interface BatchStory {
	readonly lot: LotStory;
	readonly product: string;
	readonly roaster: RoasterCode;
	readonly week: number;
	readonly chargeG: number;
	readonly outG: number;
}

/** A lot with the code that people use. */
export interface CodedLot {
	readonly code: string;
	readonly lot: LotStory;
}
