import { expect, test } from 'vitest';
import { rateLimit } from './rate.ts';

const NOW = Date.UTC(2026, 10, 25, 9);

test('rules 1 and 3: so many a minute, then the seconds to wait; those refused are not counted', () => {
	const { take } = rateLimit();
	expect([0, 1, 2].map((s) => take('a', 3, NOW + s * 1000))).toEqual([0, 0, 0]);
	expect(take('a', 3, NOW + 20_000)).toBe(40);
	expect(take('a', 3, NOW + 59_999)).toBe(1);
	expect(take('a', 3, NOW + 60_000)).toBe(0);
	expect(take('a', 3, NOW + 61_000)).toBe(0);
});

test('each key is counted by itself', () => {
	const { take } = rateLimit();
	expect(take('a', 1, NOW)).toBe(0);
	expect(take('b', 1, NOW)).toBe(0);
	expect(take('a', 1, NOW)).toBe(60);
});

test('a clock that is set back keeps nobody out for longer', () => {
	const { take } = rateLimit();
	expect(take('a', 1, NOW)).toBe(0);
	expect(take('a', 1, NOW - 86_400_000)).toBe(0);
});

test('many keys that come once are forgotten', () => {
	const { take } = rateLimit();
	for (let i = 0; i < 5000; i++) expect(take(`key ${i}`, 1, NOW + i * 60_000)).toBe(0);
});
