import { expect, test } from 'vitest';
import { countDescriptors, joinDescriptors, splitDescriptors } from './descriptors.ts';

test('words come apart at commas and semicolons, each once whatever its letters', () => {
	expect(splitDescriptors(' Jasmine, cane  sugar;jasmine ,, ')).toEqual(['Jasmine', 'cane sugar']);
	expect(joinDescriptors(['jasmine', 'Jasmine, plum'])).toBe('jasmine, plum');
	expect(joinDescriptors([])).toBe('');
});

test('words are counted once a text, the commonest first', () => {
	expect(countDescriptors(['plum, fig', 'fig, fig', 'apple; Plum', 'fig'])).toEqual([
		{ word: 'fig', count: 3 },
		{ word: 'plum', count: 2 },
		{ word: 'apple', count: 1 }
	]);
});
