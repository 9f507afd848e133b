import fc from 'fast-check';
import { expect, test } from 'vitest';
import { armed, disarmed } from './formulas.ts';

test('rule 3: what was disarmed is what it was, whatever it was', () => {
	const text = fc.oneof(
		fc.string(),
		fc.stringMatching(/^'{0,3}[=+\-@\t＝]?.{0,5}$/),
		fc.constantFrom('=HYPERLINK("x")', "'=1", "''", "'", "'Abend", "'-5")
	);
	fc.assert(
		fc.property(text, (was) => {
			const out = disarmed(was) ?? was;
			expect(armed(out)).toBe(was);
			expect(out).not.toMatch(/^[=+\-@\t\r\n＝＋－＠]/);
		}),
		{ numRuns: 500 }
	);
});

test('rule 1: text that begins otherwise is left alone', () => {
	for (const text of ['Abend', "'Abend", '5', ' =1', '']) expect(disarmed(text)).toBeNull();
});
