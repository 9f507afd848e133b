import type { Estimate } from '../stats/agreement.ts';
import { concordance, type Concordance } from '../stats/concordance.ts';
import { tQuantile } from '../stats/distributions.ts';
import { mean, median, standardDeviation } from '../stats/summary.ts';

/**
 * How far the cuppers of blind sessions agree: who is off and by how much, how well each repeats, and
 * whether they rank a table alike. All sheets given are on one form, since the scales can't be compared.
 *
 * 1. On each cup, a cupper's difference is the own score less the middle (median) of all who scored it: one
 *    who is far off doesn't make everybody else look off. It takes three: of two, nobody can say who is.
 * 2. Bias is the mean difference, with a 95 % interval by Student's t; its spread is their standard
 *    deviation. Cups count as independent; those of one table are not quite, so intervals are a little
 *    narrow.
 * 3. Fewer than five cups tell nothing: no interval and no judgement.
 * 4. A cupper is off when the interval leaves out nought and the bias is at least a quarter point, one step
 *    of the form of 2004 (common practice, no source).
 * 5. Repeatability is the standard deviation of one cupper's scores of one coffee: on one table, where a
 *    coffee stood under several codes; or over several tables, where it was cupped again. Each has as many
 *    degrees of freedom as there are sheets beyond the first of each cupper and coffee; below four it is not
 *    told.
 * 6. Ranks of a table are those of the cuppers who scored all of its cups (Kendall's W).
 */
export interface PanelSheet {
	readonly session: number;
	/** Cup on the table: one code. */
	readonly cup: number;
	/** The coffee in it: the same text for the same coffee, on this table and on others. */
	readonly coffee: string;
	readonly cupper: string;
	/** Points of the form. */
	readonly score: number;
}

export type CupperSays = 'above' | 'below' | 'in line' | 'too few';

export interface CupperAgreement {
	readonly cupper: string;
	/** Cups that at least two others scored too. */
	readonly cups: number;
	readonly sessions: number;
	/** Mean difference in points; null without a cup. */
	readonly meanDifference: number | null;
	/** With its interval; null below five cups. */
	readonly bias: Estimate | null;
	/** Standard deviation of the differences, points; null below five cups. */
	readonly spread: number | null;
	readonly says: CupperSays;
	/** The judgement in words, with what it rests on. */
	readonly words: string;
	readonly repeatability: Repeatability | null;
}

export interface Repeatability {
	/** Points. */
	readonly sd: number;
	readonly df: number;
}

export interface TableAgreement {
	readonly session: number;
	readonly cups: number;
	/** Cuppers who scored every cup. */
	readonly cuppers: number;
	/** Null with fewer than two such cuppers or three cups. */
	readonly ranks: Concordance | null;
}

export interface PanelAgreement {
	readonly sheets: number;
	/** Those who are off first, the farthest off before the others. */
	readonly cuppers: readonly CupperAgreement[];
	/** In the order of the sheets. */
	readonly tables: readonly TableAgreement[];
	readonly onOneTable: Repeatability | null;
	readonly overTables: Repeatability | null;
}

const FEWEST_CUPPERS = 3;
const FEWEST_CUPS = 5;
const FEWEST_DF = 4;
const STEP = 0.25;

/** Agreement of a panel by its sheets of one form. */
export function panelAgreement(sheets: readonly PanelSheet[]): PanelAgreement {
	const names = [...new Set(sheets.map(({ cupper }) => cupper))].sort();
	const ofCup = Map.groupBy(sheets, ({ cup }) => cup);
	const size = (one: CupperAgreement) => Math.abs(one.meanDifference ?? 0);
	const isOff = (one: CupperAgreement) => one.says === 'above' || one.says === 'below';
	return {
		sheets: sheets.length,
		cuppers: names
			.map((cupper) => cupperAgreement(cupper, sheets, ofCup))
			.sort((a, b) => Number(isOff(b)) - Number(isOff(a)) || size(b) - size(a)),
		tables: [...Map.groupBy(sheets, ({ session }) => session)].map(([session, ofTable]) =>
			tableAgreement(session, ofTable)
		),
		onOneTable: repeatability(sheets, 'one table'),
		overTables: repeatability(sheets, 'several tables')
	};
}

function cupperAgreement(
	cupper: string,
	sheets: readonly PanelSheet[],
	ofCup: ReadonlyMap<number, readonly PanelSheet[]>
): CupperAgreement {
	const own = sheets.filter((sheet) => sheet.cupper === cupper);
	const compared = own.flatMap(({ session, cup, score }) => {
		const all = ofCup.get(cup)!.map((sheet) => sheet.score);
		return all.length < FEWEST_CUPPERS ? [] : [{ session, by: score - median(all) }];
	});
	const differences = compared.map(({ by }) => by);
	const sessions = new Set(compared.map(({ session }) => session)).size;
	const bias = biasOf(differences);
	const says = saysOf(bias);
	const meanDifference = differences.length > 0 ? mean(differences) : null;
	return {
		...{ cupper, sessions, bias, says, meanDifference },
		cups: differences.length,
		spread: bias ? standardDeviation(differences) : null,
		words: wordsOf(cupper, says, bias, meanDifference, differences.length, sessions),
		repeatability: repeatability(own, 'one table')
	};
}

function biasOf(differences: readonly number[]): Estimate | null {
	const n = differences.length;
	if (n < FEWEST_CUPS) return null;
	const value = mean(differences);
	const reach = (tQuantile(0.975, n - 1) * standardDeviation(differences)) / Math.sqrt(n);
	return { value, low: value - reach, high: value + reach };
}

function saysOf(bias: Estimate | null): CupperSays {
	if (!bias) return 'too few';
	if (bias.low > 0 && bias.value >= STEP) return 'above';
	return bias.high < 0 && bias.value <= -STEP ? 'below' : 'in line';
}

function wordsOf(
	cupper: string,
	says: CupperSays,
	bias: Estimate | null,
	meanDifference: number | null,
	cups: number,
	sessions: number
): string {
	const rests = `${counted(cups, 'cup')} of ${counted(sessions, 'session')}`;
	if (meanDifference === null)
		return `Nothing to tell for ${cupper}: no cup was scored together with two others yet.`;
	if (!bias)
		return `Too few to tell for ${cupper}: ${signed(meanDifference)} on ${rests}, and ${FEWEST_CUPS} cups are the least.`;
	const interval = `${signed(bias.low)} to ${signed(bias.high)}`;
	if (says === 'in line')
		return `${cupper} is in line: ${signed(bias.value)} (${interval}) on ${rests}.`;
	const size = Math.abs(bias.value).toFixed(2);
	return `${cupper} scores ${size} points ${says} the middle of the panel (${interval}) on ${rests}.`;
}

/** `1 cup`, `3 cups`. */
function counted(n: number, noun: string): string {
	return `${n} ${noun}${n === 1 ? '' : 's'}`;
}

/** `+0.25`, `−0.50`. */
function signed(points: number): string {
	const text = Math.abs(points).toFixed(2);
	if (Number(text) === 0) return text;
	return `${points > 0 ? '+' : '\u2212'}${text}`;
}

/**
 * Standard deviation of one cupper's scores of one coffee (rule 5), pooled over cuppers and coffees; null
 * where there are too few repeats to tell.
 */
export function repeatability(
	sheets: readonly PanelSheet[],
	where: 'one table' | 'several tables'
): Repeatability | null {
	const onOne = where === 'one table';
	const groups = [
		...Map.groupBy(sheets, ({ session, coffee, cupper }) =>
			JSON.stringify([coffee, cupper, onOne ? session : null])
		).values()
	].filter((same) => onOne || new Set(same.map(({ session }) => session)).size > 1);
	let [squares, df] = [0, 0];
	for (const same of groups) {
		const centre = mean(same.map(({ score }) => score));
		squares += same.reduce((sum, { score }) => sum + (score - centre) ** 2, 0);
		df += same.length - 1;
	}
	return df < FEWEST_DF ? null : { sd: Math.sqrt(squares / df), df };
}

function tableAgreement(session: number, sheets: readonly PanelSheet[]): TableAgreement {
	const cups = [...new Set(sheets.map(({ cup }) => cup))];
	const complete = [...Map.groupBy(sheets, ({ cupper }) => cupper).values()].filter(
		(own) => own.length === cups.length
	);
	const scores = complete.map((own) =>
		cups.map((cup) => own.find((sheet) => sheet.cup === cup)!.score)
	);
	return {
		session,
		cups: cups.length,
		cuppers: complete.length,
		ranks: scores.length > 0 ? concordance(scores) : null
	};
}
