/**
 * What a lot's reactions give, from the heat that the air of its sample roast gave up.
 *
 * H11 Heat given = share * (inlet - exhaust) for each second; heat taken = warming of the moist bean and
 *     latent heat, less reaction * the model's reaction heat. Share (of air flow and losses) and reaction are
 *     found together by least squares over the roast: before the reactions begin only the share counts.
 * H12 Air flow that fell unnoticed spoils the figure itself; the same on two samples of one roaster, it
 *     cancels in their difference, which is all that is used.
 */
import { capacityKJPerK, MODEL_LATENT_KJ_PER_KG, reactionKW } from './beanHeat.ts';

export interface SampleHeat {
	/** Times the model's reaction heat. */
	readonly reaction: number;
	readonly standardError: number;
}

export interface SampleCourse {
	readonly timeS: readonly number[];
	readonly beanC: readonly number[];
	/** Inlet less exhaust, K; NaN where one is missing. */
	readonly cooledK: ArrayLike<number>;
	/** Water that dries off, kg per kg dry and second, and water left, kg per kg dry. */
	readonly drying: ArrayLike<number>;
	readonly water: ArrayLike<number>;
}

const WINDOW_S = 20;
/** The first window starts where the beans are past this, C: before it the air's readings settle. */
const FROM_C = 70;
const LEAST_WINDOWS = 10;

/** The reaction figure of a sample; null where the roast is too short for it. */
export function sampleHeat(course: SampleCourse): SampleHeat | null {
	const { timeS, beanC } = course;
	const first = beanC.findIndex((value) => value >= FROM_C);
	if (first < 0) return null;
	const rows: { given: number; reacted: number; taken: number }[] = [];
	let reactedKJ = 0;
	for (let from = first; from + WINDOW_S < timeS.length; from += WINDOW_S) {
		let [given, reacted, taken] = [0, 0, 0];
		for (let i = from; i < from + WINDOW_S; i++) {
			const heat = reactionKW(beanC[i]!, reactedKJ);
			const seconds = timeS[i + 1]! - timeS[i]!;
			reactedKJ += heat * seconds;
			reacted += heat * seconds;
			given += course.cooledK[i]! * seconds;
			taken += MODEL_LATENT_KJ_PER_KG * course.drying[i]! * seconds;
		}
		const middle = from + WINDOW_S / 2;
		const risen = levelAt(beanC, from + WINDOW_S) - levelAt(beanC, from);
		taken += capacityKJPerK(beanC[middle]!, course.water[middle]!) * risen;
		if (Number.isFinite(given)) rows.push({ given, reacted, taken });
	}
	return rows.length < LEAST_WINDOWS ? null : solved(rows);
}

/** Mean of the temperature about a second, which halves its noise twice over. */
function levelAt(beanC: readonly number[], second: number): number {
	const near = beanC.slice(Math.max(0, second - 3), second + 4);
	return near.reduce((sum, value) => sum + value, 0) / near.length;
}

/** taken = share * given + reaction * reacted, both by least squares. */
function solved(rows: readonly { given: number; reacted: number; taken: number }[]): SampleHeat {
	let [gg, gr, rr, gt, rt] = [0, 0, 0, 0, 0];
	for (const { given, reacted, taken } of rows) {
		gg += given * given;
		gr += given * reacted;
		rr += reacted * reacted;
		gt += given * taken;
		rt += reacted * taken;
	}
	const determinant = gg * rr - gr * gr;
	const share = (gt * rr - rt * gr) / determinant;
	const reaction = (gg * rt - gr * gt) / determinant;
	const squares = rows.reduce(
		(sum, { given, reacted, taken }) => sum + (taken - share * given - reaction * reacted) ** 2,
		0
	);
	const variance = squares / (rows.length - 2);
	return { reaction, standardError: Math.sqrt((variance * gg) / determinant) };
}
