/** What a whole run of the tests comes to. */
export interface Counts {
	readonly passed: number;
	readonly failed: number;
	readonly skipped: number;
}

/** The part of Vitest's JSON report that is counted. */
export interface TestReport {
	readonly testResults: readonly {
		readonly status: string;
		readonly assertionResults: readonly { readonly status: string }[];
	}[];
}

/** Counts every test; a file that failed without a failed test (it didn't load) is one failure. */
export function countTests(report: TestReport): Counts {
	const statuses = report.testResults.flatMap(({ status, assertionResults }) => {
		const own = assertionResults.map((test) => test.status);
		return status === 'failed' && !own.includes('failed') ? [...own, 'failed'] : own;
	});
	const passed = statuses.filter((status) => status === 'passed').length;
	const failed = statuses.filter((status) => status === 'failed').length;
	return { passed, failed, skipped: statuses.length - passed - failed };
}

/**
 * The whole run: a check that failed counts as one failure, and so does a test run that ended badly, or
 * without a single test, though no test failed. So `0 failed` means that all is well.
 */
export function total(tests: Counts, failedChecks: number, testsHeld: boolean): Counts {
	const unsaid = tests.failed === 0 && (!testsHeld || tests.passed === 0) ? 1 : 0;
	return { ...tests, failed: tests.failed + failedChecks + unsaid };
}

/** `12 passed, 0 failed`, and the skipped where there are any. */
export function countsLine({ passed, failed, skipped }: Counts): string {
	return `${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`;
}
