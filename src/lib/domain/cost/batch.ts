import { formatScaled, formatTrimmed, ratio } from '../quantity/decimal.ts';
import { formatKg } from '../quantity/mass.ts';
import {
	type Currency,
	formatMoney,
	formatPriceE4,
	fromMajor,
	type Money,
	money,
	scale,
	subtract,
	sum
} from '../quantity/money.ts';
import type { Recovery } from './recovery.ts';

/**
 * What a batch costs, and what a test costs once its coffee has found its use.
 *
 * 1. A batch costs green + energy + labour + machine time + quality time.
 * 2. Energy counts to the watt-hour and time to the second; with them every line is exact until it is
 *    rounded, once, half up, to the minor unit. A total is the sum of its lines, so that sums agree
 *    however they are cut.
 * 3. A test costs its batch less what its coffee brings in.
 */

export const BATCH_ITEMS = ['green', 'energy', 'labour', 'machine', 'quality'] as const;
export type BatchItem = (typeof BATCH_ITEMS)[number];

/** Amounts of a batch with their rates in one currency. */
export interface BatchInput {
	readonly currency: Currency;
	/** Green grams charged. */
	readonly greenG: number;
	/** Landed cost of a green kilogram, ten-thousandths of the major unit. */
	readonly landedPerKgE4: number;
	readonly energyKwh: number;
	/** Ten-thousandths of the major unit for one kilowatt-hour. */
	readonly energyPerKwhE4: number;
	readonly labourMin: number;
	readonly labourPerHourMinor: number;
	readonly machineMin: number;
	readonly machinePerHourMinor: number;
	readonly qualityMin: number;
	readonly qualityPerHourMinor: number;
}

export interface BatchLine {
	readonly item: BatchItem;
	readonly label: string;
	readonly money: Money;
	readonly howWorked: string;
}

export interface BatchCost {
	/** One line an item, in the order of `BATCH_ITEMS`. */
	readonly lines: readonly BatchLine[];
	readonly total: Money;
	readonly greenG: number;
	/** Whole seconds of machine time. */
	readonly machineS: number;
}

export interface NetTestCost {
	readonly batch: BatchCost;
	readonly recoveries: readonly Recovery[];
	/** What the batch cost. */
	readonly cost: Money;
	/** What its coffee brings in. */
	readonly recovered: Money;
	/** `cost - recovered`. */
	readonly net: Money;
	readonly howWorked: string;
}

/**
 * The cost of one batch, line by line.
 * @throws RangeError when an amount is negative or not a number, or a rate is not an integer
 */
export function batchCost(input: BatchInput): BatchCost {
	const { currency, greenG, landedPerKgE4 } = input;
	const energyWh = thousandths(input.energyKwh, 'energy');
	const lines: BatchLine[] = [
		{
			item: 'green',
			label: 'Green coffee',
			money: perThousand(whole(greenG, 'green grams'), landedPerKgE4, currency),
			howWorked: `${formatKg(greenG)} at ${formatPriceE4(landedPerKgE4, currency)} a kg`
		},
		{
			item: 'energy',
			label: 'Energy',
			money: perThousand(energyWh, input.energyPerKwhE4, currency),
			howWorked: `${formatTrimmed(energyWh, 3)} kWh at ${formatPriceE4(input.energyPerKwhE4, currency)} a kWh`
		},
		timeLine('labour', 'Labour', input.labourMin, input.labourPerHourMinor, currency),
		timeLine('machine', 'Machine time', input.machineMin, input.machinePerHourMinor, currency),
		timeLine('quality', 'Quality time', input.qualityMin, input.qualityPerHourMinor, currency)
	];
	return {
		lines,
		total: sum(
			lines.map((line) => line.money),
			currency
		),
		greenG,
		machineS: seconds(input.machineMin)
	};
}

/**
 * What a test costs after its coffee found its use (rule 3). Coffee not yet accounted for brings nothing.
 * @param recoveries those that pass `checkRecoveries`
 */
export function netTestCost(batch: BatchCost, recoveries: readonly Recovery[]): NetTestCost {
	const cost = batch.total;
	const recovered = sum(
		recoveries.map((recovery) => recovery.value),
		cost.currency
	);
	const parts = recoveries.map(
		(one) => `${formatKg(one.massG)} ${one.kind} ${formatMoney(one.value)}`
	);
	const brought = parts.length === 0 ? 'nothing recovered' : parts.join(', ');
	return {
		batch,
		recoveries,
		cost,
		recovered,
		net: subtract(cost, recovered),
		howWorked: `${formatMoney(cost)} less ${brought}`
	};
}

function timeLine(
	item: BatchItem,
	label: string,
	minutes: number,
	perHourMinor: number,
	currency: Currency
): BatchLine {
	const rate = money(perHourMinor, currency);
	if (rate.minor < 0) throw new RangeError(`${label} has a rate of ${formatMoney(rate)} an hour`);
	return {
		item,
		label,
		money: scale(rate, ratio(seconds(minutes), 3600)),
		howWorked: `${minutesText(minutes)} min at ${formatMoney(rate)} an hour`
	};
}

/** A price for a thousand units (grams, watt-hours) times units. */
function perThousand(units: number, priceE4: number, currency: Currency): Money {
	if (priceE4 < 0) throw new RangeError(`a price can't be negative, found ${priceE4} E4`);
	return fromMajor(ratio(BigInt(units) * BigInt(priceE4), 10_000_000n), currency);
}

function thousandths(value: number, what: string): number {
	return whole(Math.round(value * 1000), what);
}

function seconds(minutes: number): number {
	return whole(Math.round(minutes * 60), 'minutes');
}

function minutesText(minutes: number): string {
	const hundredths = Math.round((seconds(minutes) / 60) * 100);
	return hundredths % 100 === 0 ? formatScaled(hundredths / 100, 0) : formatTrimmed(hundredths, 2);
}

function whole(value: number, what: string): number {
	if (!Number.isSafeInteger(value) || value < 0) {
		throw new RangeError(`${what} of a batch must be zero or more, found ${value}`);
	}
	return value;
}
