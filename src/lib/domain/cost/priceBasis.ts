import { formatTrimmed, ratio, roundRatio, times } from '../quantity/decimal.ts';
import { formatKg } from '../quantity/mass.ts';
import {
	type Currency,
	formatMoney,
	formatPriceE4,
	type Money,
	toMajor
} from '../quantity/money.ts';

/**
 * What a roasted kilogram of a released lot costs, as a basis for its price, with the cost of testing
 * spread over its kilograms and without.
 *
 * 1. Green: landed cost of a green kilogram over what is left of it after roasting, 1 - weight loss.
 * 2. Roasting: energy, labour and machine time of its batches over the roasted mass they gave.
 * 3. Testing: net cost of its tests over all the roasted mass the lot is expected to give: what it gave so
 *    far and what its stock on hand will give. Tests' own coffee is in their net cost, not in that mass.
 * 4. Each line is rounded once, half up, to ten-thousandths of the major unit; sums are of lines.
 *
 * Packing, storage, overheads and margin are not in it.
 */

export interface RoastingCost {
	/** Energy, labour and machine time, without green. */
	readonly cost: Money;
	readonly roastedG: number;
	/** What it was taken from, for a person: `12 batches`. */
	readonly from: string;
}

export interface PriceBasisInput {
	readonly currency: Currency;
	/** Ten-thousandths of the major unit for a green kilogram. */
	readonly landedPerKgE4: number;
	/** Share of green mass that roasting takes, from 0 to below 1. */
	readonly weightLoss: number;
	/** Null where nothing says what a batch costs. */
	readonly roasting: RoastingCost | null;
	readonly testing: Money;
	/** Roasted grams of production so far. */
	readonly producedG: number;
	/** Green grams on hand. */
	readonly onHandG: number;
}

/** Ten-thousandths of the major unit for a roasted kilogram, and how they were worked out. */
export interface PerRoastedKg {
	readonly perKgE4: number;
	readonly howWorked: string;
}

export interface PriceBasis {
	readonly green: PerRoastedKg;
	readonly roasting: PerRoastedKg | null;
	/** Null where the lot will give no roasted coffee. */
	readonly testing: PerRoastedKg | null;
	readonly expectedRoastedG: number;
	/** Green and roasting; null where one is missing. */
	readonly withoutTestingE4: number | null;
	readonly withTestingE4: number | null;
}

/** @throws RangeError when the weight loss is not from 0 to below 1 */
export function priceBasis(input: PriceBasisInput): PriceBasis {
	const lossPpm = Math.round(input.weightLoss * 1_000_000);
	if (!(lossPpm >= 0 && lossPpm < 1_000_000)) {
		throw new RangeError(`a weight loss is from 0 to below 1, found ${input.weightLoss}`);
	}
	const green = greenPart(input.landedPerKgE4, lossPpm, input.currency);
	const { roasting: batches, testing: net } = input;
	const roasting =
		batches && batches.roastedG > 0
			? {
					perKgE4: perKgE4(batches.cost, batches.roastedG),
					howWorked: `${formatMoney(batches.cost)} of ${batches.from} over ${formatKg(batches.roastedG)} roasted`
				}
			: null;
	const left = ratio(1_000_000 - lossPpm, 1_000_000);
	const expectedRoastedG = input.producedG + roundRatio(times(ratio(input.onHandG), left));
	const testing =
		expectedRoastedG > 0
			? {
					perKgE4: perKgE4(net, expectedRoastedG),
					howWorked: `${formatMoney(net)} net over ${formatKg(expectedRoastedG)}: ${formatKg(input.producedG)} roasted so far and ${formatKg(input.onHandG)} green on hand less weight loss`
				}
			: null;
	const without = roasting ? green.perKgE4 + roasting.perKgE4 : null;
	return {
		...{ green, roasting, testing, expectedRoastedG },
		withoutTestingE4: without,
		withTestingE4: without !== null && testing ? without + testing.perKgE4 : null
	};
}

function greenPart(landedPerKgE4: number, lossPpm: number, currency: Currency): PerRoastedKg {
	const loss = formatTrimmed(Math.round(lossPpm / 100), 2, 1);
	return {
		perKgE4: roundRatio(times(ratio(landedPerKgE4), ratio(1_000_000, 1_000_000 - lossPpm))),
		howWorked: `${formatPriceE4(landedPerKgE4, currency)} a green kg over 1 less ${loss} % weight loss`
	};
}

function perKgE4(cost: Money, massG: number): number {
	return roundRatio(times(toMajor(cost), ratio(10_000_000, massG)));
}
