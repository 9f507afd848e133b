import {
	formatScaled,
	formatTrimmed,
	plus,
	type Ratio,
	ratio,
	roundRatio,
	times
} from '../quantity/decimal.ts';
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
	sum,
	toMajor
} from '../quantity/money.ts';
import type { Recovery } from './recovery.ts';

/**
 * What a batch costs, and what a test costs once its coffee has found its use.
 *
 * 1. A batch costs green + gas + power + labour + machine time + quality time.
 * 2. Energy counts to the watt-hour and time to the second; with them every line is exact until it is
 *    rounded, once, half up, to the minor unit. A total is the sum of its lines, so that sums agree
 *    however they are cut.
 * 3. A test costs its batch less what its coffee brings in.
 * 4. Gas and power are what a meter read for the batch, each by itself; else they go by the rate.
 * 5. A machine hour costs its rate (upkeep, room, insurance) and straight-line depreciation,
 *    (cost - residual) / (years x hours a year), which is not rounded before the batch's line is.
 */

export const BATCH_ITEMS = ['green', 'gas', 'power', 'labour', 'machine', 'quality'] as const;
export type BatchItem = (typeof BATCH_ITEMS)[number];

/** What a batch used of one kind of energy. */
export interface EnergyUse {
	/** Whole watt-hours. */
	readonly wh: number;
	/** Ten-thousandths of the major unit for one kilowatt-hour. */
	readonly perKwhE4: number;
	readonly from: 'meter' | 'rate';
}

/** How a machine loses its worth, in minor units; no years or no hours is no depreciation. */
export interface Depreciation {
	readonly costMinor: number;
	readonly residualMinor: number;
	readonly lifeYears: number;
	readonly hoursPerYear: number;
}

/** Amounts of a batch with their rates in one currency. */
export interface BatchInput {
	readonly currency: Currency;
	/** Green grams charged. */
	readonly greenG: number;
	/** Landed cost of a green kilogram, ten-thousandths of the major unit. */
	readonly landedPerKgE4: number;
	readonly gas: EnergyUse;
	readonly power: EnergyUse;
	readonly labourMin: number;
	readonly labourPerHourMinor: number;
	readonly machineMin: number;
	readonly machinePerHourMinor: number;
	/** Null where the machine's worth is not counted. */
	readonly depreciation: Depreciation | null;
	readonly qualityMin: number;
	readonly qualityPerHourMinor: number;
}

export interface BatchLine {
	readonly item: BatchItem;
	readonly label: string;
	readonly money: Money;
	/** Worded when it is read: ten years of batches are summed without. */
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
 * Depreciation of a machine hour in minor units, exact (rule 5).
 * @throws RangeError when the residual is above the cost or a figure is below zero
 */
export function depreciationPerHour(of: Depreciation): Ratio {
	const { costMinor, residualMinor, lifeYears, hoursPerYear } = of;
	if (residualMinor < 0 || lifeYears < 0 || hoursPerYear < 0 || residualMinor > costMinor) {
		throw new RangeError(
			`depreciation needs a residual from 0 to the cost, found ${residualMinor} of ${costMinor}`
		);
	}
	const hours = lifeYears * hoursPerYear;
	return hours === 0 ? ratio(0) : ratio(costMinor - residualMinor, hours);
}

/**
 * The cost of one batch, line by line.
 * @throws RangeError when an amount is negative or not a number, or a rate is not an integer
 */
export function batchCost(input: BatchInput): BatchCost {
	const { currency, greenG, landedPerKgE4 } = input;
	const lines: BatchLine[] = [
		{
			item: 'green',
			label: 'Green coffee',
			money: perThousand(whole(greenG, 'green grams'), landedPerKgE4, currency),
			get howWorked() {
				return `${formatKg(greenG)} at ${formatPriceE4(landedPerKgE4, currency)} a kg`;
			}
		},
		energyLine('gas', 'Gas', input.gas, currency),
		energyLine('power', 'Power', input.power, currency),
		timeLine('labour', 'Labour', input.labourMin, input.labourPerHourMinor, currency),
		machineLine(input),
		timeLine('quality', 'Quality time', input.qualityMin, input.qualityPerHourMinor, currency)
	];
	const total = lines.reduce((all, line) => all + line.money.minor, 0);
	return { lines, total: money(total, currency), greenG, machineS: seconds(input.machineMin) };
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
	return {
		batch,
		recoveries,
		cost,
		recovered,
		net: subtract(cost, recovered),
		get howWorked() {
			const parts = recoveries.map(
				(one) =>
					`${formatKg(one.massG)} ${one.kind}${one.product ? ` (${one.product})` : ''} ${formatMoney(one.value)}`
			);
			const brought = parts.length === 0 ? 'nothing recovered' : parts.join(', ');
			return `${formatMoney(cost)} less ${brought}`;
		}
	};
}

function energyLine(
	item: BatchItem,
	label: string,
	{ wh, perKwhE4, from }: EnergyUse,
	currency: Currency
): BatchLine {
	return {
		...{ item, label },
		money: perThousand(whole(wh, `${item} watt-hours`), perKwhE4, currency),
		get howWorked() {
			const metered = from === 'meter' ? ' by meter' : '';
			return `${formatTrimmed(wh, 3)} kWh${metered} at ${formatPriceE4(perKwhE4, currency)} a kWh`;
		}
	};
}

function timeLine(
	item: BatchItem,
	label: string,
	minutes: number,
	perHourMinor: number,
	currency: Currency
): BatchLine {
	const rate = hourRate(label, perHourMinor, currency);
	return {
		...{ item, label },
		money: scale(rate, ratio(seconds(minutes), 3600)),
		get howWorked() {
			return `${minutesText(minutes)} min at ${formatMoney(rate)} an hour`;
		}
	};
}

function machineLine(input: BatchInput): BatchLine {
	const { machineMin, machinePerHourMinor, depreciation, currency } = input;
	const plain = timeLine('machine', 'Machine time', machineMin, machinePerHourMinor, currency);
	const perHour = depreciation ? depreciationPerHour(depreciation) : ratio(0);
	if (!depreciation || perHour.num === 0n) return plain;
	const hours = ratio(seconds(machineMin), 3600);
	const both = plus(ratio(machinePerHourMinor), perHour);
	return {
		...{ item: 'machine' as const, label: plain.label },
		money: money(roundRatio(times(both, hours)), currency),
		get howWorked() {
			return `${plain.howWorked} and ${depreciationText(depreciation, currency)}`;
		}
	};
}

/** `GBP 3.3333 an hour of depreciation: GBP 48,000.00 less GBP 6,000.00 over 7 years of 1,800 hours`. */
function depreciationText(of: Depreciation, currency: Currency): string {
	const { costMinor, residualMinor, lifeYears, hoursPerYear } = of;
	const perHourE4 = roundRatio(
		times(depreciationPerHour(of), toMajor(money(1, currency)), ratio(10_000))
	);
	const [cost, residual] = [costMinor, residualMinor].map((m) => formatMoney(money(m, currency)));
	return `${formatPriceE4(perHourE4, currency)} an hour of depreciation: ${cost} less ${residual} over ${lifeYears} years of ${formatScaled(hoursPerYear, 0)} hours`;
}

function hourRate(label: string, perHourMinor: number, currency: Currency): Money {
	const rate = money(perHourMinor, currency);
	if (rate.minor < 0) throw new RangeError(`${label} has a rate of ${formatMoney(rate)} an hour`);
	return rate;
}

/** A price for a thousand units (grams, watt-hours) times units. */
function perThousand(units: number, priceE4: number, currency: Currency): Money {
	if (priceE4 < 0) throw new RangeError(`a price can't be negative, found ${priceE4} E4`);
	return fromMajor(ratio(BigInt(units) * BigInt(priceE4), 10_000_000n), currency);
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
