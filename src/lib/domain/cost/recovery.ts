import { formatKg } from '../quantity/mass.ts';
import { type Currency, formatMoney, type Money } from '../quantity/money.ts';
import { bad, good, type Outcome, type Problem } from '../quantity/problem.ts';

/** What becomes of the roasted coffee of a test. */
export const RECOVERY_KINDS = ['full', 'reduced', 'blended off', 'written off'] as const;
export type RecoveryKind = (typeof RECOVERY_KINDS)[number];

export interface Recovery {
	readonly kind: RecoveryKind;
	/** Roasted grams. */
	readonly massG: number;
	/** What the coffee brings in; zero when written off. */
	readonly value: Money;
	/** The product it went into, by name; null or left out where it went into none. */
	readonly product?: string | null;
}

/**
 * Checks what became of a test's coffee against what the test gave.
 * @param roastedG roasted grams of the test
 * @param currency the site's currency
 */
export function checkRecoveries(
	roastedG: number,
	recoveries: readonly Recovery[],
	currency: Currency
): Outcome<readonly Recovery[]> {
	const problems = recoveries.flatMap((recovery, index) => problemsOf(recovery, index, currency));
	const usedG = recoveries.reduce((sum, recovery) => sum + recovery.massG, 0);
	if (problems.length === 0 && usedG > roastedG) {
		const message = `${formatKg(usedG)} is more than the ${formatKg(roastedG)} the test gave`;
		problems.push({ path: 'massG', message });
	}
	return problems.length === 0 ? good(recoveries) : bad(...problems);
}

function problemsOf(
	{ kind, massG, value }: Recovery,
	index: number,
	currency: Currency
): Problem[] {
	const at = (field: string) => `recoveries[${index}].${field}`;
	const problems: Problem[] = [];
	if (!Number.isSafeInteger(massG) || massG <= 0) {
		problems.push({
			path: at('massG'),
			message: `found ${massG}, expected whole grams above zero`
		});
	}
	if (value.currency !== currency) {
		problems.push({ path: at('value'), message: `found ${value.currency}, expected ${currency}` });
	} else if (value.minor < 0) {
		problems.push({ path: at('value'), message: 'found a value below zero' });
	} else if (kind === 'written off' && value.minor !== 0) {
		const message = `found ${formatMoney(value)} for coffee written off, expected nothing`;
		problems.push({ path: at('value'), message });
	}
	return problems;
}
