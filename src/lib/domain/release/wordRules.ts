/**
 * What the shape of a release curve says about the first test in the drum, as a table. Each row names
 * what is looked at and from where on it counts; `words.ts` measures and applies, and holds no
 * threshold.
 *
 * Rules of the table, cited in test names:
 * 1. Of the rows of one topic at most one holds: their conditions leave no overlap.
 * 2. Rows of different topics give advice on different settings, and none denies what another says.
 * 3. Advice leans one way from the roastery's usual first test. It has no figure and sets no burner.
 * 4. What a limit hides is not said: no faint crack in noise, no crack in a roast that ended before it.
 *
 * That a drum roast behaves as the rows say is common practice, no source. The thresholds were chosen
 * on simulated sample roasts of the six kinds (14 drawn lots each in three profiles), since no open data
 * set of roast humidity curves was found. Quartiles found, and so the thresholds between them:
 *
 * | kind      | early share | growth   | evenness | prominence |
 * | --------- | ----------- | -------- | -------- | ---------- |
 * | washed    | .15-.20     | 3.5-3.9  | .40-.43  | .59-.77    |
 * | old crop  | .14-.20     | 3.5-3.9  | .45-.47  | .24-.34    |
 * | honey     | .20-.25     | 3.1-3.3  | .45-.48  | .33-.43    |
 * | natural   | .22-.27     | 3.2-3.5  | .46-.49  | .25-.37    |
 * | anaerobic | .26-.31     | 2.8-3.2  | .45-.47  | .43-.62    |
 * | decaf     | .31-.36     | 2.2-2.7  | .54-.56  | .10-.16    |
 *
 * On as many other lots: washed high peak 38 of 42, little at first 26; old crop distinct peak 37, little
 * at first 29; honey distinct peak 39, even 35; natural distinct peak 39, even 30, much early 12;
 * anaerobic high or distinct peak 42, much early 31; decaf weak peak 41, much early 42. The rest of each
 * kind get another row or none.
 */
import type { CrackVerdict } from './reading.ts';

export const RULE_NAMES = [
	'high late peak',
	'distinct late peak',
	'weak or absent peak',
	'unclear peak',
	'much release in the first half',
	'little at first, then a steep middle',
	'even release throughout',
	'noisy signal',
	'balance not closing',
	'sensor off the room air',
	'roast ended before the crack'
] as const;
export type RuleName = (typeof RULE_NAMES)[number];

/** Figures that rows are decided by; `words.ts` measures them. */
export type Quantity = 'earlyShare' | 'middleGrowth' | 'evenness' | 'prominence';

export interface QuantityNote {
	/** What it is, for a person. */
	readonly meaning: string;
	/** How its figures are shown: a share as %, or a factor. */
	readonly unit: '%' | 'times';
	/**
	 * Standard deviation between sample roasts of one lot, on simulated roasts: sensor lag known and
	 * assumed, noise .1 points of RH, three profiles. A figure this close to a threshold is unsure.
	 */
	readonly repeatSd: number;
}

export const QUANTITIES: Readonly<Record<Quantity, QuantityNote>> = {
	earlyShare: {
		meaning:
			'Of the water released before the crack, the share that left in the first half of that time',
		unit: '%',
		repeatSd: 0.006
	},
	middleGrowth: {
		meaning:
			'Base release at the end of the second half of the time before the crack over that at its start',
		unit: 'times',
		repeatSd: 0.15
	},
	evenness: {
		meaning: 'Mean release from charge to drop over the highest',
		unit: '%',
		repeatSd: 0.007
	},
	prominence: {
		meaning: 'Height of the crack burst over the base release; nought where none is found',
		unit: '%',
		repeatSd: 0.05
	}
};

/** What can keep a reading from saying more. */
export type Limit = 'noisy' | 'unbalanced' | 'sensor off' | 'ended early';

/** A figure counts from `from` (included) to `to` (not included). */
export interface Condition {
	readonly quantity: Quantity;
	readonly from?: number;
	readonly to?: number;
}

/** Settings of a first test; `sample` is what to do before it. */
export type TestSetting =
	'charge' | 'start temperature' | 'soak' | 'gas early' | 'gas late' | 'cut after crack' | 'sample';

export interface FirstTestAdvice {
	readonly setting: TestSetting;
	/** Against the roastery's usual first test; `other` leaves the direction open. */
	readonly lean: 'more' | 'less' | 'keep' | 'other' | 'repeat';
	readonly says: string;
}

/** Part of the curve that a row rests on; `words.ts` finds its seconds. */
export type Part = 'crack' | 'first half' | 'second half' | 'whole';

export interface WordRule {
	readonly name: RuleName;
	readonly topic: 'crack' | 'before the crack' | 'limit';
	/** What on the curve is looked at. */
	readonly evidence: string;
	readonly part: Part;
	/** All must hold. */
	readonly conditions: readonly Condition[];
	/** Verdicts on the crack that it holds with; any when not given. */
	readonly verdicts?: readonly CrackVerdict[];
	/** The limit that it states. */
	readonly limit?: Limit;
	/** It is not said where one of these limits the reading. */
	readonly hiddenBy: readonly Limit[];
	/** What to expect in the drum. */
	readonly says: string;
	readonly firstTest: readonly FirstTestAdvice[];
	readonly source: 'common practice, no source';
}

/** Belongs beside every first test advice. */
export const FIRST_TEST_CAUTION =
	"A starting point for a trained operator, inside the machine maker's limits; nothing is sent to a " +
	'machine. Local fire, gas and workplace-air codes and licensed practice come first.';

/** The least height that `crack.ts` calls distinct. */
const FAINT_PROMINENCE = 0.18;
/** From here on a distinct crack is a high one. */
const HIGH_PROMINENCE = 0.45;
const LITTLE_EARLY = 0.19;
const MUCH_EARLY = 0.27;
const STEEP_GROWTH = 3.2;
const EVEN = 0.44;

const source = 'common practice, no source';

export const WORD_RULES: readonly WordRule[] = [
	{
		name: 'high late peak',
		topic: 'crack',
		evidence: 'A distinct burst at first crack, high over the base release.',
		part: 'crack',
		conditions: [{ quantity: 'prominence', from: HIGH_PROMINENCE }],
		verdicts: ['distinct'],
		hiddenBy: ['ended early'],
		says: 'Expect a marked first crack: much water leaves at once. Unless the heat comes down soon and firmly after it, the end of the roast tends to speed up by itself.',
		firstTest: [
			{
				setting: 'cut after crack',
				lean: 'more',
				says: 'Plan a cut soon after first crack, firmer than usual and in one step.'
			}
		],
		source
	},
	{
		name: 'distinct late peak',
		topic: 'crack',
		evidence: 'A distinct burst at first crack of moderate height over the base release.',
		part: 'crack',
		conditions: [{ quantity: 'prominence', to: HIGH_PROMINENCE }],
		verdicts: ['distinct'],
		hiddenBy: ['ended early'],
		says: 'Expect a clear first crack that development time can be counted from. The end of the roast may speed up a little after it.',
		firstTest: [
			{
				setting: 'cut after crack',
				lean: 'keep',
				says: 'Plan the usual cut soon after first crack, and watch whether the rate of rise turns up after it.'
			}
		],
		source
	},
	{
		name: 'weak or absent peak',
		topic: 'crack',
		evidence: 'No burst at first crack, or one that hardly stands out of the base release.',
		part: 'crack',
		conditions: [{ quantity: 'prominence', to: FAINT_PROMINENCE }],
		verdicts: ['weak', 'none'],
		hiddenBy: ['noisy', 'ended early'],
		says: "Expect a faint first crack, or none to be heard. The end temperature tends to rise more than usual for the same settings, and the crack can't serve as an anchor for development time.",
		firstTest: [
			{
				setting: 'gas late',
				lean: 'less',
				says: 'Plan less heat for the last part of the roast than usual.'
			},
			{
				setting: 'cut after crack',
				lean: 'less',
				says: "Don't wait for the crack: plan small steps down by bean temperature and colour instead of one firm cut."
			}
		],
		source
	},
	{
		name: 'unclear peak',
		topic: 'crack',
		evidence:
			'A burst as high as a distinct one that noise, a change of the air or a missing temperature leaves in doubt.',
		part: 'crack',
		conditions: [{ quantity: 'prominence', from: FAINT_PROMINENCE }],
		verdicts: ['weak'],
		hiddenBy: ['ended early'],
		says: "The release rises where a crack would be, but this log can't tell a crack from something else: how marked first crack will be is not known.",
		firstTest: [
			{
				setting: 'sample',
				lean: 'repeat',
				says: 'Roast the sample again with the bean temperature and every change of the air in its log.'
			}
		],
		source
	},
	{
		name: 'much release in the first half',
		topic: 'before the crack',
		evidence:
			'A large share of the water released before the crack leaves in the first half of that time.',
		part: 'first half',
		conditions: [{ quantity: 'earlyShare', from: MUCH_EARLY }],
		hiddenBy: ['ended early'],
		says: 'Much moisture leaves early: expect the bean probe to read slow at first and the middle of the roast to drag.',
		firstTest: [
			{
				setting: 'gas early',
				lean: 'more',
				says: 'Plan more heat early than usual.'
			},
			{
				setting: 'soak',
				lean: 'other',
				says: 'Another soak is the other way to try: change it or the early heat in one test, not both.'
			},
			{
				setting: 'charge',
				lean: 'less',
				says: 'Where there is no more heat to give early, plan a somewhat smaller charge.'
			}
		],
		source
	},
	{
		name: 'little at first, then a steep middle',
		topic: 'before the crack',
		evidence:
			'A small share of the water leaves in the first half of the time before the crack, and the base release then grows steeply.',
		part: 'second half',
		conditions: [
			{ quantity: 'earlyShare', to: LITTLE_EARLY },
			{ quantity: 'middleGrowth', from: STEEP_GROWTH }
		],
		hiddenBy: ['ended early'],
		says: 'Little moisture leaves at first, then the release climbs steeply: the rate of rise is hard to keep smooth, with a risk of a crash or a flick.',
		firstTest: [
			{
				setting: 'gas early',
				lean: 'keep',
				says: 'Plan no more heat early than usual, and spread the steps down through the middle over more and smaller ones.'
			},
			{
				setting: 'start temperature',
				lean: 'keep',
				says: 'Start as usual until the middle runs smooth; then change one thing.'
			}
		],
		source
	},
	{
		name: 'even release throughout',
		topic: 'before the crack',
		evidence:
			'Neither much nor little leaves early, no high burst follows, and the mean release is near the highest.',
		part: 'whole',
		conditions: [
			{ quantity: 'earlyShare', from: LITTLE_EARLY, to: MUCH_EARLY },
			{ quantity: 'evenness', from: EVEN },
			{ quantity: 'prominence', to: HIGH_PROMINENCE }
		],
		hiddenBy: ['ended early'],
		says: 'The release is even throughout, as dry-processed lots often show: expect a good start, then a loss of momentum before colour change.',
		firstTest: [
			{
				setting: 'start temperature',
				lean: 'keep',
				says: 'Start as usual: a good start is expected.'
			},
			{
				setting: 'gas early',
				lean: 'more',
				says: 'Plan to hold the early heat longer before the first step down, so that the momentum carries through colour change.'
			}
		],
		source
	},
	{
		name: 'noisy signal',
		topic: 'limit',
		evidence: 'Scatter of the humidity signal from row to row.',
		part: 'whole',
		conditions: [],
		limit: 'noisy',
		hiddenBy: [],
		says: "The humidity signal is too noisy: a faint crack can't be told from none, and the other statements are less sure.",
		firstTest: [
			{
				setting: 'sample',
				lean: 'repeat',
				says: 'Check the humidity sensor and roast the sample again before a bag depends on this reading.'
			}
		],
		source
	},
	{
		name: 'balance not closing',
		topic: 'limit',
		evidence: 'Water that the air carried off against the weighed loss.',
		part: 'whole',
		conditions: [],
		limit: 'unbalanced',
		hiddenBy: [],
		says: 'The water carried off by the air and the weighed loss disagree: times hold better than shares, and the statements are less sure.',
		firstTest: [
			{
				setting: 'sample',
				lean: 'repeat',
				says: 'Check the weights, the air flow and the humidity sensor before relying on the shares; roast the sample again if in doubt.'
			}
		],
		source
	},
	{
		name: 'sensor off the room air',
		topic: 'limit',
		evidence: 'What the humidity sensor reads in the room air after the drop, beside the start.',
		part: 'whole',
		conditions: [],
		limit: 'sensor off',
		hiddenBy: [],
		says: "The humidity sensor didn't come back to the room air that it started from: the water released and its shares lean to one side, more so towards the end. The time of the crack holds better.",
		firstTest: [
			{
				setting: 'sample',
				lean: 'repeat',
				says: 'Check the humidity sensor against the room air before relying on the shares, and roast the sample again if in doubt.'
			}
		],
		source
	},
	{
		name: 'roast ended before the crack',
		topic: 'limit',
		evidence: 'The highest temperature that the sample reached.',
		part: 'whole',
		conditions: [],
		limit: 'ended early',
		hiddenBy: [],
		says: 'The sample roast ended before it was hot enough to crack: it says nothing about the crack or the end of the roast.',
		firstTest: [
			{
				setting: 'sample',
				lean: 'repeat',
				says: 'Roast another sample to beyond first crack.'
			}
		],
		source
	}
];
