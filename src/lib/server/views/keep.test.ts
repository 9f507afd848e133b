import { expect, test } from 'vitest';
import { keepNewest } from './keep.ts';

test('a result is made once, and the one asked for longest ago goes first', async () => {
	const keep = keepNewest<number | null>(2);
	const made: string[] = [];
	const ask = (key: string) => keep(key, () => made.push(key));
	expect([await ask('a'), await ask('b'), await ask('a')]).toEqual([1, 2, 1]);
	await ask('c');
	await ask('a');
	expect(made).toEqual(['a', 'b', 'c']);
	await ask('b');
	expect(made).toEqual(['a', 'b', 'c', 'b']);
});

test('a result of nothing is kept, what throws is not', async () => {
	const keep = keepNewest<number | null>(2);
	expect(await keep('none', () => null)).toBeNull();
	expect(await keep('none', () => 1)).toBeNull();
	const broken = () => Promise.reject(new Error('busy'));
	await expect(keep('one', broken)).rejects.toThrow('busy');
	expect(await keep('one', () => 1)).toBe(1);
});
