import { describe, expect, it } from 'vitest';
import { changedFigures, type KeyFigures } from './change.ts';

const ONE: KeyFigures = {
	verdict: 'weak',
	peakS: 380,
	temperatureC: 196,
	early: 0.2,
	middle: 0.5,
	around: 0.2,
	after: 0.1,
	sureness: 0.8
};

describe('what changed between two readings of a log', () => {
	it('is nothing where a page would show the same (rule 1)', () => {
		const close = { ...ONE, peakS: 380.4, temperatureC: 196.05, early: 0.2005, sureness: 0.805 };
		expect(changedFigures(ONE, close)).toEqual([]);
	});

	it('is each figure that a page would show otherwise (rule 1)', () => {
		const other: KeyFigures = { ...ONE, verdict: 'distinct', peakS: 379.5, after: 0.102 };
		expect(changedFigures(ONE, other)).toEqual(['verdict', 'peakS', 'after']);
	});

	it('is a figure that goes or appears (rule 2)', () => {
		const gone: KeyFigures = { ...ONE, verdict: 'none', peakS: null, temperatureC: null };
		expect(changedFigures(ONE, gone)).toEqual(['verdict', 'peakS', 'temperatureC']);
		expect(changedFigures(gone, ONE)).toEqual(['verdict', 'peakS', 'temperatureC']);
		expect(changedFigures(null, ONE)).toEqual(['verdict']);
		expect(changedFigures(ONE, null)).toEqual(['verdict']);
		expect(changedFigures(null, null)).toEqual([]);
	});
});
