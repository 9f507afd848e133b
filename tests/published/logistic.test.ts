import { describe, expect, it } from 'vitest';
import { logisticChance, ridgeLogistic, type LogisticRow } from '#lib/domain/stats/logistic.ts';

/**
 * Discrete-time hazard of Singer and Willett, Applied Longitudinal Data Analysis (2003), ch. 11: counts of
 * table 11.1 (seen: UCLA's page for the chapter), coefficients, standard errors and deviances by R 4.2.2,
 * glm on the expanded rows (ran). R stops at a relative change of 1e-8 in the deviance, so its digits hold to about
 * 1e-6, its standard errors to 1e-4: D8 alone is the logit of 7 in 165 with a known standard error.
 */
const WITHOUT = { n: [72, 70, 68, 60, 52, 42], events: [2, 2, 8, 8, 10, 8] };
const WITH = { n: [108, 95, 90, 74, 53, 38], events: [13, 5, 16, 21, 15, 18] };

function gradeRows(withTransition: boolean): LogisticRow[] {
	return [WITHOUT, WITH].flatMap(({ n, events }, group) =>
		n.map((trials, grade) => ({
			inputs: [...n.map((_, i) => (i === grade ? 1 : 0)), ...(withTransition ? [group] : [])],
			events: events[grade]!,
			trials
		}))
	);
}

describe('discrete-time hazard after Singer and Willett', () => {
	it('has the hazards of the grades alone', () => {
		const fit = ridgeLogistic(gradeRows(false), Array(6).fill(0));
		const found = [
			-2.3978952728, -3.1166848151, -1.7197859696, -1.2866645202, -1.1631508098, -0.7308875085
		];
		const errors = [
			0.2696798981, 0.3861777934, 0.2216514228, 0.2097774252, 0.2291287847, 0.238704958
		];
		found.forEach((value, i) => expect(fit.coefficients[i]).toBeCloseTo(value, 6));
		errors.forEach((value, i) =>
			expect(Math.abs(fit.standardErrors[i]! - value)).toBeLessThan(1e-4)
		);
		expect(fit.coefficients[1]).toBeCloseTo(Math.log(7 / 158), 10);
		expect(fit.standardErrors[1]).toBeCloseTo(Math.sqrt(1 / 7 + 1 / 158), 10);
		expect(fit.deviance).toBeCloseTo(651.955388, 5);
	});

	it('has the effect of the parental transition', () => {
		const fit = ridgeLogistic(gradeRows(true), Array(7).fill(0));
		expect(fit.coefficients[6]).toBeCloseTo(0.8736184411, 6);
		expect(fit.standardErrors[6]).toBeCloseTo(0.2174039934, 5);
		expect(fit.deviance).toBeCloseTo(634.661784, 5);
		const hazards = [0.1071, 0.055909, 0.196628, 0.27909, 0.314189, 0.424229];
		hazards.forEach((value, i) => {
			const inputs = [...hazards.map((_, k) => (k === i ? 1 : 0)), 1];
			expect(logisticChance(fit.coefficients, inputs)).toBeCloseTo(value, 5);
		});
	});
});

/** R 4.2.2, glm(cbind(events, 10 - events) ~ x, binomial) (ran). */
it('agrees with R on ten trials at each of six doses', () => {
	const rows = [0, 1, 2, 4, 6, 8].map((events, x) => ({ inputs: [1, x], events, trials: 10 }));
	const fit = ridgeLogistic(rows, [0, 0]);
	expect(fit.coefficients[0]).toBeCloseTo(-3.4332017, 6);
	expect(fit.coefficients[1]).toBeCloseTo(0.9771341, 6);
	expect(fit.standardErrors[0]).toBeCloseTo(0.8776199, 6);
	expect(fit.standardErrors[1]).toBeCloseTo(0.2549776, 6);
});
