import type { PlanAmounts } from '#lib/domain/plan/objective.ts';
import { count, fixed } from '#lib/ui/format/number.ts';

interface AmountWords {
	readonly name: keyof PlanAmounts;
	readonly label: string;
	readonly unit: string;
	readonly digits: number;
}

/** What a plan costs, in the order in which it is looked at. */
export const AMOUNTS: readonly AmountWords[] = [
	{ name: 'unplacedKg', label: 'Green coffee without a slot', unit: 'kg', digits: 1 },
	{ name: 'unplacedTest', label: 'Tests without a slot', unit: '', digits: 0 },
	{ name: 'lateKg', label: 'Green coffee late', unit: 'kg', digits: 1 },
	{ name: 'lateKgDay', label: 'Green coffee late, by days', unit: 'kg × days', digits: 1 },
	{ name: 'lateTest', label: 'Tests late', unit: '', digits: 0 },
	{ name: 'lateTestDay', label: 'Tests late, by days', unit: 'days', digits: 1 },
	{ name: 'cleaningMin', label: 'Cleaning', unit: 'min', digits: 0 },
	{ name: 'changeover', label: 'Changeovers and cleanings', unit: '', digits: 0 },
	{ name: 'overtimeMin', label: 'Overtime', unit: 'min', digits: 0 },
	{ name: 'minuteInUse', label: 'Roaster minutes in use', unit: 'min', digits: 0 }
];

/** `45 min`, `3`. */
export function amountText({ name, unit, digits }: AmountWords, amounts: PlanAmounts): string {
	return [fixed(amounts[name], digits), unit].filter(Boolean).join(' ');
}

/** `1,240 steps of 100,000`. */
export function stepsText(steps: number, budget: number): string {
	return `${count(steps, 'step')} of ${fixed(budget)}`;
}
