import { expect, it } from 'vitest';
import { concernsOf, isConcerned } from './concerns.ts';
import { ACT_NAMES } from './rights.ts';

const reaches = (act: string, lot: string | null, path: string) =>
	isConcerned(path, concernsOf(act, lot));

it('rule 1: an address stands for itself and all below, the overview for itself', () => {
	expect(isConcerned('/week', ['/week'])).toBe(true);
	expect(isConcerned('/week/copy', ['/week'])).toBe(true);
	expect(isConcerned('/weekly', ['/week'])).toBe(false);
	expect(isConcerned('/', ['/week'])).toBe(false);
	expect(isConcerned('/week', ['/'])).toBe(false);
	expect(isConcerned('/', ['/', '/week'])).toBe(true);
});

it('rule 2: an act on a lot concerns its pages and the lists, no other lot', () => {
	for (const path of ['/lots', '/lots/HR-1', '/lots/HR-1/release', '/tests', '/tests/HR-1/2', '/'])
		expect(reaches('record measurement', 'HR-1', path)).toBe(true);
	for (const path of ['/lots/HR-10', '/tests/HR-2/2', '/setup', '/me'])
		expect(reaches('record measurement', 'HR-1', path)).toBe(false);
	expect(reaches('record measurement', null, '/lots/HR-10')).toBe(true);
});

it('rule 3: an act without a line concerns the roastery, a setting what rests on it', () => {
	expect(reaches('an act to come', null, '/stock')).toBe(true);
	expect(reaches('save shifts', null, '/week')).toBe(true);
	expect(reaches('save shifts', null, '/stock')).toBe(false);
	expect(reaches('score a cup', null, '/cuppings/3')).toBe(true);
	expect(reaches('score a cup', null, '/')).toBe(false);
	expect(reaches('sign in', null, '/setup/people')).toBe(true);
	expect(reaches('sign in', null, '/lots')).toBe(false);
});

it('rule 4: the audit is concerned by every act', () => {
	for (const act of ACT_NAMES) expect(reaches(act, 'HR-1', '/audit')).toBe(true);
});
