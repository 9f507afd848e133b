import { expect, test } from 'vitest';
import { sampleProblems } from './sampleFacts.ts';

test('rule 1: as much out as was charged is refused', () => {
	expect(sampleProblems({ stage: 'offer', chargeG: 60, outG: 51 })).toEqual([]);
	expect(sampleProblems({ stage: 'offer', chargeG: 60, outG: 60 })).toMatchObject([
		{ path: 'out_g' }
	]);
});

test('rule 2: a sample of the arrived coffee needs its charge, one sent before does not', () => {
	expect(sampleProblems({ stage: 'arrival', chargeG: null, outG: null })).toMatchObject([
		{ path: 'charge_g' }
	]);
	expect(sampleProblems({ stage: 'pre-shipment', chargeG: null, outG: 51 })).toEqual([]);
});
