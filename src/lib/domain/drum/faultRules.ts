/**
 * The faults that a drum log is searched for and the thresholds that decide, as a table. Every default
 * is common practice, no source: a roaster's own settings replace any of them.
 */

export const FAULT_NAMES = [
	'scorching start',
	'probe lag',
	'stall',
	'crash',
	'flick',
	'runaway'
] as const;
export type FaultName = (typeof FAULT_NAMES)[number];

export interface FaultThresholds {
	/** Fall of the rate of rise beyond its own trend, C/min. */
	readonly crashFallCMin: number;
	/** The time within which that fall happens, s. */
	readonly crashWithinS: number;
	/** Rise of the rate of rise from a low after first crack, C/min. */
	readonly flickRiseCMin: number;
	/** Rate of rise above that at first crack, C/min. */
	readonly runawayAboveCrackCMin: number;
	/** A rate of rise below this, C/min ... */
	readonly stallBelowCMin: number;
	/** ... for this long, s. */
	readonly stallForS: number;
	/** Highest rate of rise after the turning point, C/min. */
	readonly scorchRorCMin: number;
	/** Bean probe in the drum at charge, C. */
	readonly scorchChargeC: number;
	/** Estimated lag of the bean probe, s. */
	readonly probeLagS: number;
}

export interface FaultThreshold {
	readonly key: keyof FaultThresholds;
	readonly value: number;
	readonly unit: 'C/min' | 'C' | 's';
}

export interface FaultRule {
	readonly name: FaultName;
	/** When it is called that. */
	readonly meaning: string;
	/** What in the log shows it. */
	readonly evidence: string;
	readonly thresholds: readonly FaultThreshold[];
	readonly source: 'common practice, no source';
}

const source = 'common practice, no source';

export const FAULT_RULES: readonly FaultRule[] = [
	{
		name: 'scorching start',
		meaning: 'The surface of the beans takes heat faster than their inside can follow.',
		evidence:
			'The highest rate of rise after the turning point, or the probe in the drum at charge.',
		thresholds: [
			{ key: 'scorchRorCMin', value: 40, unit: 'C/min' },
			{ key: 'scorchChargeC', value: 235, unit: 'C' }
		],
		source
	},
	{
		name: 'probe lag',
		meaning: 'The bean probe follows the beans so late that its marks and rates come late too.',
		evidence:
			'How long the probe takes to fall from the drum to the beans, taking the beans to warm evenly from room temperature to the turning point.',
		thresholds: [{ key: 'probeLagS', value: 55, unit: 's' }],
		source
	},
	{
		name: 'stall',
		meaning: 'The bean temperature all but stops rising before the drop.',
		evidence: 'The rate of rise after its highest point stays low.',
		thresholds: [
			{ key: 'stallBelowCMin', value: 1.5, unit: 'C/min' },
			{ key: 'stallForS', value: 30, unit: 's' }
		],
		source
	},
	{
		name: 'crash',
		meaning: 'The rate of rise falls away about first crack.',
		evidence:
			'Its fall, from a minute before first crack on, less the fall that its trend over the 90 s before would have brought.',
		thresholds: [
			{ key: 'crashFallCMin', value: 3, unit: 'C/min' },
			{ key: 'crashWithinS', value: 45, unit: 's' }
		],
		source
	},
	{
		name: 'flick',
		meaning: 'The rate of rise turns up again after first crack.',
		evidence: 'Its largest rise from a low after first crack, short of a runaway.',
		thresholds: [{ key: 'flickRiseCMin', value: 2, unit: 'C/min' }],
		source
	},
	{
		name: 'runaway',
		meaning: 'The end of the roast speeds up by itself.',
		evidence: 'After a rise of that kind the rate of rise stands above that at first crack.',
		thresholds: [{ key: 'runawayAboveCrackCMin', value: 2, unit: 'C/min' }],
		source
	}
];

/** The defaults of the table. */
export const DEFAULT_THRESHOLDS: FaultThresholds = Object.fromEntries(
	FAULT_RULES.flatMap((rule) => rule.thresholds.map(({ key, value }) => [key, value]))
) as unknown as FaultThresholds;
