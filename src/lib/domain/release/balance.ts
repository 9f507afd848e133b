/**
 * The water balance of a sample roast: what the air carried off against what the scales say. The
 * weighed loss is water and some gas, chaff and dust; part of the water is formed in the roast, so
 * more can leave than the green coffee held.
 */
import { figure, finding, type Finding } from './finding.ts';
import type { WaterBalance } from './reading.ts';

/**
 * Share of the weighed loss that the released water may make up (common practice, no source): gas,
 * chaff and dust are the rest, and the flow is rarely known to better than a tenth.
 */
const CLOSES = { from: 0.7, to: 1.1 } as const;
/** Water that a roast leaves in the beans at most, share of their mass (common practice, no source). */
const LEFT_IN_BEANS = 0.03;

/** The balance, or null when the released water or the weighed loss is not known. */
export function waterBalance(
	releasedG: number | null,
	chargeG: number | null,
	outG: number | null,
	greenMoisturePct: number | null
): WaterBalance | null {
	if (releasedG === null || chargeG === null || outG === null) return null;
	const weighedLossG = chargeG - outG;
	const greenWaterG = greenMoisturePct === null ? null : (chargeG * greenMoisturePct) / 100;
	const range = usualRange(weighedLossG, greenWaterG, outG);
	return {
		releasedG,
		weighedLossG,
		greenWaterG,
		unexplainedG: weighedLossG - releasedG,
		closes: releasedG >= range.fromG && releasedG <= range.toG
	};
}

/** Released water that is usual for a weighed loss and the water of the green coffee, g. */
function usualRange(weighedLossG: number, greenWaterG: number | null, outG: number) {
	const green = greenWaterG === null ? 0 : 0.8 * (greenWaterG - LEFT_IN_BEANS * outG);
	return {
		fromG: Math.max(CLOSES.from * weighedLossG, green),
		toG: CLOSES.to * weighedLossG
	};
}

/** A drift of the humidity sensor by one unit at the drop, and what it would add to the released water. */
export interface UnitDrift {
	readonly unit: string;
	readonly addsG: number;
}

/**
 * What is wrong with the balance, and how large a drift of the sensor or an error of the air flow it would
 * take: the sums alone can't tell one from the other, so nothing is corrected.
 */
export function balanceFindings(
	balance: WaterBalance | null,
	outG: number | null,
	drift: UnitDrift | null
): Finding[] {
	if (balance === null || outG === null || balance.closes) return [];
	const { releasedG, weighedLossG, greenWaterG } = balance;
	const { fromG, toG } = usualRange(weighedLossG, greenWaterG, outG);
	const aimG = releasedG > toG ? toG : fromG;
	const causes = [`an air flow ${figure(100 * Math.abs(releasedG / aimG - 1))} % off`];
	if (drift !== null && drift.addsG > 0) {
		const by = (releasedG - aimG) / drift.addsG;
		causes.push(
			`a sensor that drifted ${figure(Math.abs(by))} ${drift.unit} ${by > 0 ? 'up' : 'down'} by the drop`
		);
	}
	const green =
		greenWaterG === null ? '' : `, and the green coffee held ${figure(greenWaterG)} g of water`;
	return [
		finding(
			'balance',
			`The air carried off ${figure(releasedG)} g of water by this log, but the scales say that ` +
				`${figure(weighedLossG)} g were lost${green}. It would take ${causes.join(' or ')} to bring that to what is usual: check ` +
				'both, and the humidity sensor for an offset.',
			0.3
		)
	];
}
