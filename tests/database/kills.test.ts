import { expect, it } from 'vitest';
import { killAtMoments } from '#support/kills.ts';

/** kill -9 in the middle of acts. `npm run bench -- --slow --only kill` does it at 200 moments. */

it('whatever was acknowledged is there after kill -9, and nothing is half done', async () => {
	const { wrong, moments } = await killAtMoments(20, 20261125);
	expect(wrong).toEqual([]);
	expect(Object.values(moments).reduce((sum, n) => sum + n, 0)).toBe(20);
}, 300_000);
