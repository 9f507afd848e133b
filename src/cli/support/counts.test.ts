import { expect, test } from 'vitest';
import { countsLine, countTests, total } from './counts.ts';

function file(status: string, ...tests: string[]) {
	return { status, assertionResults: tests.map((one) => ({ status: one })) };
}

test('tests are counted by how they ended', () => {
	const report = {
		testResults: [
			file('passed', 'passed', 'passed', 'pending', 'todo'),
			file('failed', 'passed', 'failed')
		]
	};
	expect(countTests(report)).toEqual({ passed: 3, failed: 1, skipped: 2 });
});

test('a file that did not load is one failure', () => {
	expect(countTests({ testResults: [file('failed')] })).toEqual({
		passed: 0,
		failed: 1,
		skipped: 0
	});
});

test('0 failed is said only when every check held and a test ran', () => {
	const fine = { passed: 5, failed: 0, skipped: 0 };
	expect(total(fine, 0, true)).toEqual(fine);
	expect(total(fine, 2, true).failed).toBe(2);
	expect(total(fine, 0, false).failed).toBe(1);
	expect(total({ ...fine, failed: 3 }, 1, false).failed).toBe(4);
	expect(total({ passed: 0, failed: 0, skipped: 4 }, 0, true).failed).toBe(1);
});

test('the line names the skipped only where there are any', () => {
	expect(countsLine({ passed: 5, failed: 0, skipped: 0 })).toBe('5 passed, 0 failed');
	expect(countsLine({ passed: 5, failed: 1, skipped: 2 })).toBe('5 passed, 1 failed, 2 skipped');
});
