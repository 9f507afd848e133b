/**
 * What two lots take up along the same bean curve, and so what one of them wants more than the other.
 *
 * H13 Heat taken up = warming of the moist bean + latent heat of the water that leaves - reaction heat, each
 *     for a kilogram of dry bean, from charge on.
 */
import { capacityKJPerK, driedIn, reactionKW, REACTION_KJ_PER_KG } from './beanHeat.ts';
import { releasePerS, type LotHeat } from './lotHeat.ts';

/** Since charge, for a kilogram of dry bean. */
export interface HeatTaken {
	/** Water that dried off, g. */
	readonly waterG: number;
	readonly warmingKJ: number;
	readonly latentKJ: number;
	/** Given by the reactions. */
	readonly reactionKJ: number;
	/** Warming and latent heat less the reactions'. */
	readonly totalKJ: number;
}

export interface HeatModelFigures {
	readonly latentKJPerKg: number;
	/** Times the model's reaction heat. */
	readonly reaction: number;
}

/** Heat taken up after each second of a bean curve (C, a second each). */
export function heatTaken(
	lot: LotHeat,
	beanC: ArrayLike<number>,
	{ latentKJPerKg, reaction }: HeatModelFigures
): HeatTaken[] {
	const taken: HeatTaken[] = [];
	let x = lot.x0;
	let [waterG, warmingKJ, reactionKJ] = [0, 0, 0];
	for (let t = 0; t < beanC.length; t++) {
		const risen = t === 0 ? 0 : beanC[t]! - beanC[t - 1]!;
		const dried = t === 0 ? 0 : driedIn(releasePerS(lot, beanC[t]!), x, 1);
		warmingKJ += capacityKJPerK(beanC[t]! - risen / 2, x) * risen;
		x -= dried;
		waterG += 1000 * dried;
		if (t > 0) {
			const left = Math.min(REACTION_KJ_PER_KG, reactionKJ);
			reactionKJ += reaction * reactionKW(beanC[t]!, left);
		}
		const latentKJ = (latentKJPerKg * waterG) / 1000;
		const totalKJ = warmingKJ + latentKJ - reactionKJ;
		taken.push({ waterG, warmingKJ, latentKJ, reactionKJ, totalKJ });
	}
	return taken;
}

/** One lot's heat less another's when the beans pass a temperature; all for a kilogram of dry bean. */
export interface HeatDifference extends HeatTaken {
	readonly beanC: number;
}

/**
 * What `next` takes up more than `reference` along one bean curve that rises, at each of these temperatures
 * that it passes.
 */
export function heatDifferences(
	reference: LotHeat,
	next: LotHeat,
	beanC: ArrayLike<number>,
	figures: { readonly reference: HeatModelFigures; readonly next: HeatModelFigures },
	temperaturesC: readonly number[]
): HeatDifference[] {
	const before = heatTaken(reference, beanC, figures.reference);
	const after = heatTaken(next, beanC, figures.next);
	return temperaturesC.flatMap((temperatureC) => {
		const t = Array.prototype.findIndex.call(beanC, (value: number) => value >= temperatureC);
		if (t < 0) return [];
		const [a, b] = [before[t]!, after[t]!];
		return [
			{
				beanC: temperatureC,
				waterG: b.waterG - a.waterG,
				warmingKJ: b.warmingKJ - a.warmingKJ,
				latentKJ: b.latentKJ - a.latentKJ,
				reactionKJ: b.reactionKJ - a.reactionKJ,
				totalKJ: b.totalKJ - a.totalKJ
			}
		];
	});
}
