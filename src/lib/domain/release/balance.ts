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
	const share = releasedG / weighedLossG;
	return {
		releasedG,
		weighedLossG,
		greenWaterG,
		unexplainedG: weighedLossG - releasedG,
		closes:
			share >= CLOSES.from &&
			share <= CLOSES.to &&
			(greenWaterG === null || releasedG >= 0.8 * (greenWaterG - LEFT_IN_BEANS * outG))
	};
}

/** What is wrong with the balance, or that it can't be made. */
export function balanceFindings(balance: WaterBalance | null): Finding[] {
	if (balance === null || balance.closes) return [];
	const { releasedG, weighedLossG, greenWaterG } = balance;
	const green =
		greenWaterG === null ? '' : `, and the green coffee held ${figure(greenWaterG)} g of water`;
	return [
		finding(
			'balance',
			`The air carried off ${figure(releasedG)} g of water by this log, but the scales say that ` +
				`${figure(weighedLossG)} g were lost${green}. Check the air flow, and the humidity sensor ` +
				'for an offset.',
			0.3
		)
	];
}
