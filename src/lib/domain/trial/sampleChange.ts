import { tQuantile } from '../stats/distributions.ts';
import { mean } from '../stats/summary.ts';
import { repeatability, type PanelSheet, type Repeatability } from './panelAgreement.ts';

/**
 * Whether a later sample of a lot scores otherwise than an earlier one, beyond what the panel's own repeats
 * differ by.
 *
 * 1. Only cuppers who scored both count, each against the own earlier score: a cupper who is always high
 *    doesn't make a change.
 * 2. Where both stood on one table, only that table counts: the limit is t s sqrt(2 / cuppers), with s the
 *    panel's repeatability on one table and its degrees of freedom.
 * 3. Else the day itself may have shifted all cuppers together, so their number doesn't narrow it: the limit
 *    is t s sqrt(2), with s the repeatability over several tables.
 * 4. Within the limit it is as repeats are; without enough repeats nothing is said of it.
 *    (t is Student's at 97.5 %: repeats lie closer in 19 of 20 cases.)
 */
export interface ScoreChange {
	/** Later less earlier, points. */
	readonly difference: number;
	/** Cuppers who scored both. */
	readonly cuppers: number;
	readonly where: 'one table' | 'several tables';
	/** Points; null where the panel's repeatability isn't known. */
	readonly limit: number | null;
	readonly repeatability: Repeatability | null;
	/** Null where that can't be told. */
	readonly isOutside: boolean | null;
}

/**
 * The change from one coffee to another, or null where no cupper scored both.
 * @param sheets every sheet of the panel on one form: its repeats tell the limit
 */
export function scoreChange(
	sheets: readonly PanelSheet[],
	earlier: string,
	later: string
): ScoreChange | null {
	const of = (coffee: string) => sheets.filter((sheet) => sheet.coffee === coffee);
	const laterOnes = of(later);
	const shared = new Set(
		of(earlier).flatMap(({ session }) =>
			laterOnes.some((sheet) => sheet.session === session) ? [session] : []
		)
	);
	const where = shared.size > 0 ? 'one table' : 'several tables';
	const counts = ({ session }: PanelSheet) => shared.size === 0 || shared.has(session);
	const [before, after] = [of(earlier), laterOnes].map((each) => ownMeans(each.filter(counts)));
	const differences = [...after!].flatMap(([cupper, score]) => {
		const own = before!.get(cupper);
		return own === undefined ? [] : [score - own];
	});
	if (differences.length === 0) return null;
	const cuppers = differences.length;
	const known = repeatability(sheets, where);
	const difference = mean(differences);
	const limit = known && limitOf(known, where === 'one table' ? cuppers : 1);
	const isOutside = limit === null ? null : Math.abs(difference) > limit;
	return { difference, cuppers, where, limit, repeatability: known, isOutside };
}

function limitOf({ sd, df }: Repeatability, cuppers: number): number {
	return tQuantile(0.975, df) * sd * Math.sqrt(2 / cuppers);
}

function ownMeans(sheets: readonly PanelSheet[]): Map<string, number> {
	return new Map(
		[...Map.groupBy(sheets, ({ cupper }) => cupper)].map(([cupper, own]) => [
			cupper,
			mean(own.map(({ score }) => score))
		])
	);
}
