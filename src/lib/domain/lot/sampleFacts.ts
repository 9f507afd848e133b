/**
 * What must hold between the facts of a sample roast. Rules (common practice, no source):
 * 1. Less comes out than was charged.
 * 2. A sample of the arrived coffee comes out of stock, so its charge has to be known; offer and
 *    pre-shipment samples were sent apart.
 */
import type { Problem } from '../quantity/problem.ts';
import type { SampleStage } from './lot.ts';

export interface SampleFacts {
	readonly stage: SampleStage;
	readonly chargeG: number | null;
	readonly outG: number | null;
}

/** What is wrong with the facts of a sample; paths are the names of its fields. */
export function sampleProblems({ stage, chargeG, outG }: SampleFacts): Problem[] {
	const problems: Problem[] = [];
	if (stage === 'arrival' && chargeG === null)
		problems.push({ path: 'charge_g', message: 'Give the charge: it comes out of stock.' });
	if (chargeG !== null && outG !== null && outG >= chargeG)
		problems.push({
			path: 'out_g',
			message: `Found ${outG} g out of ${chargeG} g charged, expected less than the charge.`
		});
	return problems;
}
