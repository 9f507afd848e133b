import { describe, expect, it } from 'vitest';
import type { Rereading } from '../store/readings.ts';
import { runView } from './rereading.ts';

const NOW = Date.UTC(2026, 10, 25, 9);
const RUN: Rereading = {
	...{ id: 1, method: 'release-2', fingerprintMethod: 'fingerprint-1', by: 'Sam' },
	...{ startedAt: NOW - 60_000, seenAt: NOW - 1000, finishedAt: null },
	...{ total: 1000, done: 390, failed: 10, changed: 20, spentMs: 13_000 }
};
const state = (over: Partial<Rereading>, isRunning = false) =>
	runView({ ...RUN, ...over }, NOW, isRunning, 'UTC').state;

describe('a re-reading as it stands', () => {
	it('has a rate without its stops, and the time left at it', () => {
		// 390 logs in 13 s are 30 a second; 600 are left.
		expect(runView(RUN, NOW, true, 'UTC')).toMatchObject({ logsPerS: 30, leftS: 20, spentS: 13 });
		expect(runView({ ...RUN, done: 0, spentMs: 0 }, NOW, true, 'UTC')).toMatchObject({
			logsPerS: null,
			leftS: null
		});
	});

	it('runs while its worker does, here or in another process, and else was stopped', () => {
		expect(state({ seenAt: NOW - 3_600_000 }, true)).toBe('running');
		expect(state({ seenAt: NOW - 5_000 })).toBe('running');
		expect(state({ seenAt: NOW - 60_000 })).toBe('stopped');
		expect(runView({ ...RUN, seenAt: 0 }, NOW, false, 'UTC').leftS).toBeNull();
	});

	it('is finished with every log, broken ones counted, and overtaken with fewer', () => {
		expect(state({ finishedAt: NOW, done: 990 })).toBe('finished');
		expect(state({ finishedAt: NOW, done: 400 })).toBe('overtaken');
	});
});
