import {
	formatScaled,
	formatTrimmed,
	type Ratio,
	ratio,
	roundProduct,
	roundRatio,
	times
} from '../quantity/decimal.ts';
import { formatKg } from '../quantity/mass.ts';
import {
	type Currency,
	formatMoney,
	formatPriceE4,
	type Money,
	minorDecimals,
	money,
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
	readonly money: Money;
}

/** A line for a person. */
export interface WorkedLine extends BatchLine {
	readonly label: string;
	readonly howWorked: string;
}

export interface BatchCost {
	/** One line an item, in the order of `BATCH_ITEMS`. */
	readonly lines: readonly BatchLine[];
	readonly total: Money;
	/** What it was worked out from; `workedLines` puts it into words. */
	readonly input: BatchInput;
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
	const { currency, greenG } = input;
	// A thousand units (grams, watt-hours) at a price of E4 is a ten-millionth of the major unit each.
	const perMajor = 10 ** minorDecimals(currency);
	const perThousand = (units: number, priceE4: number) => {
		if (priceE4 < 0) throw new RangeError(`a price can't be negative, found ${priceE4} E4`);
		return roundProduct([units, priceE4, perMajor], 10_000_000);
	};
	const perHour = (minutes: number, rateMinor: number, label: string) => {
		if (rateMinor < 0)
			throw new RangeError(`${label} has a rate of ${hourText(rateMinor, currency)}`);
		return roundProduct([rateMinor, seconds(minutes)], 3600);
	};
	const minors: { readonly [item in BatchItem]: number } = {
		green: perThousand(whole(greenG, 'green grams'), input.landedPerKgE4),
		gas: perThousand(whole(input.gas.wh, 'gas watt-hours'), input.gas.perKwhE4),
		power: perThousand(whole(input.power.wh, 'power watt-hours'), input.power.perKwhE4),
		labour: perHour(input.labourMin, input.labourPerHourMinor, LABELS.labour),
		machine: machineMinor(input, perHour),
		quality: perHour(input.qualityMin, input.qualityPerHourMinor, LABELS.quality)
	};
	let total = 0;
	const lines = BATCH_ITEMS.map((item): BatchLine => {
		total += minors[item];
		return { item, money: money(minors[item], currency) };
	});
	const machineS = seconds(input.machineMin);
	return { lines, total: money(total, currency), input, greenG, machineS };
}

const LABELS: { readonly [item in BatchItem]: string } = {
	green: 'Green coffee',
	gas: 'Gas',
	power: 'Power',
	labour: 'Labour',
	machine: 'Machine time',
	quality: 'Quality time'
};

/** Rule 5: rate and depreciation rounded together. */
function machineMinor(
	{ machineMin, machinePerHourMinor, depreciation }: BatchInput,
	perHour: (minutes: number, rateMinor: number, label: string) => number
): number {
	const plain = perHour(machineMin, machinePerHourMinor, LABELS.machine);
	if (!depreciation) return plain;
	const { num, den } = depreciationPerHour(depreciation);
	if (num === 0n) return plain;
	const perHours = machinePerHourMinor * Number(den) + Number(num);
	return roundProduct([perHours, seconds(machineMin)], 3600 * Number(den));
}

/** The lines of a batch in words. */
export function workedLines({ lines, input }: BatchCost): WorkedLine[] {
	return lines.map((line) => ({
		...line,
		label: LABELS[line.item],
		howWorked: lineWords(input, line.item)
	}));
}

function lineWords(input: BatchInput, item: BatchItem): string {
	const { currency } = input;
	switch (item) {
		case 'green':
			return `${formatKg(input.greenG)} at ${formatPriceE4(input.landedPerKgE4, currency)} a kg`;
		case 'gas':
		case 'power': {
			const { wh, perKwhE4, from } = input[item];
			const metered = from === 'meter' ? ' by meter' : '';
			return `${formatTrimmed(wh, 3)} kWh${metered} at ${formatPriceE4(perKwhE4, currency)} a kWh`;
		}
		case 'labour':
			return timeWords(input.labourMin, input.labourPerHourMinor, currency);
		case 'quality':
			return timeWords(input.qualityMin, input.qualityPerHourMinor, currency);
		case 'machine': {
			const plain = timeWords(input.machineMin, input.machinePerHourMinor, currency);
			const { depreciation } = input;
			if (!depreciation || depreciationPerHour(depreciation).num === 0n) return plain;
			return `${plain} and ${depreciationText(depreciation, currency)}`;
		}
	}
}

function timeWords(minutes: number, perHourMinor: number, currency: Currency): string {
	return `${minutesText(minutes)} min at ${hourText(perHourMinor, currency)}`;
}

function hourText(perHourMinor: number, currency: Currency): string {
	return `${formatMoney(money(perHourMinor, currency))} an hour`;
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
	return { batch, recoveries, cost, recovered, net: subtract(cost, recovered) };
}

/** How a net cost comes about: `GBP 118.50 less 6 kg reduced GBP 48.00`. */
export function netWords({ cost, recoveries }: NetTestCost): string {
	const parts = recoveries.map(
		({ massG, kind, product, value }) =>
			`${formatKg(massG)} ${kind}${product ? ` (${product})` : ''} ${formatMoney(value)}`
	);
	const brought = parts.length === 0 ? 'nothing recovered' : parts.join(', ');
	return `${formatMoney(cost)} less ${brought}`;
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
