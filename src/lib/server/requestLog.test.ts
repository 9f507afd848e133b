import { expect, test } from 'vitest';
import { errorLine, requestLine } from './requestLog.ts';

const AT = Date.UTC(2026, 10, 25, 9);

test('a request is one line of JSON', () => {
	const answered = { at: AT, method: 'GET', route: '/lots/[code]', status: 200, userId: 1 };
	const line = requestLine({ ...answered, ms: 12.3456 });
	expect(line).not.toContain('\n');
	expect(JSON.parse(line)).toEqual({ ...answered, at: '2026-11-25T09:00:00.000Z', ms: 12.3 });
});

test('an error is one line too, whatever was thrown', () => {
	expect(JSON.parse(errorLine(AT, '/x', new Error('two\nlines')))).toMatchObject({
		route: '/x',
		error: 'two\nlines'
	});
	expect(errorLine(AT, null, 'text').split('\n')).toHaveLength(1);
});
