import { expect, test } from 'vitest';
import { lineOf } from './dependencies.ts';

const clean = { critical: 0, high: 0, moderate: 0, low: 0, info: 0, total: 0 };
const REFUSED = 'Dependencies: the registry could not be asked for known vulnerabilities.';

test.each([
	['nothing', '', REFUSED],
	['no report', '<html>', REFUSED],
	['null', 'null', REFUSED],
	['a refusal', '{"error":{"code":"ENOAUDIT","summary":"405"}}', REFUSED],
	[
		'a clean report',
		JSON.stringify({ metadata: { vulnerabilities: clean } }),
		'Dependencies: no known vulnerability.'
	],
	[
		'a report with finds',
		JSON.stringify({
			vulnerabilities: { alpha: { severity: 'high' }, beta: { severity: 'low' } },
			metadata: { vulnerabilities: { ...clean, high: 1, low: 2 } }
		}),
		'Dependencies: known vulnerabilities, for information: 1 high, 2 low (alpha, beta).'
	]
])('%s', (_, json, line) => expect(lineOf(json)).toBe(line));
