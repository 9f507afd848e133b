import type { FaultName } from '#lib/domain/drum/faultRules.ts';
import type { MadeDrum, MadeRates } from './drumLog.ts';

/** The start that all of these share: 155 C after five minutes. */
export const START: MadeRates = [
	[0, 45],
	[60, 40],
	[120, 24],
	[300, 15]
];

/** No fault by the default thresholds. */
export const CLEAN: MadeDrum = { rates: [...START, [540, 6], [660, 4.5]], crackS: 540, dropS: 660 };

/** One curve for each fault, each the clean one but for the fault. */
export const FAULTY: Readonly<Record<FaultName, MadeDrum>> = {
	'scorching start': {
		rates: [
			[0, 70],
			[60, 70],
			[120, 24],
			[160, 12],
			[300, 9],
			[540, 5],
			[660, 4]
		],
		crackS: 540,
		dropS: 660
	},
	'probe lag': { ...CLEAN, lagS: 65 },
	stall: {
		rates: [...START, [330, 0.3], [450, 0.3], [490, 14], [640, 6], [760, 4.5]],
		crackS: 660,
		dropS: 760
	},
	crash: { rates: [...START, [530, 9.5], [550, 2.6], [660, 2.4]], crackS: 530, dropS: 660 },
	flick: {
		rates: [...START, [540, 6], [590, 3], [620, 3], [650, 7], [700, 7]],
		crackS: 540,
		dropS: 700
	},
	runaway: { rates: [...START, [540, 6], [580, 6], [660, 14]], crackS: 540, dropS: 660 }
};
