import { describe, expect, test } from 'vitest';
import { csvBytes, csvField, csvText } from './csv.ts';

describe('rule 1, RFC 4180 (rows from memory, checked with the csv module of Python)', () => {
	test('fields with comma, quote or line break are quoted, quotes doubled, rows end in CR LF', () => {
		const table = {
			columns: ['a', 'b'],
			rows: [
				['aaa', 'b "bb"'],
				['c,cc', 'line1\nline2'],
				['', null]
			]
		};
		expect(csvText(table)).toBe('a,b\r\naaa,"b ""bb"""\r\n"c,cc","line1\nline2"\r\n,\r\n');
	});

	test('a semicolon, a tab and blanks at the ends are quoted too', () => {
		expect(csvField('x;y')).toBe('"x;y"');
		expect(csvField('x\ty')).toBe('"x\ty"');
		expect(csvField(' x')).toBe('" x"');
		expect(csvField('Finca Cerro')).toBe('Finca Cerro');
	});
});

// https://owasp.org/www-community/attacks/CSV_Injection, source pages/attacks/CSV_Injection.md of
// OWASP/www-community at commit 0e5e8f0 (seen): the two examples and the list of first characters.
describe('rule 2, formulas disarmed after OWASP', () => {
	test.each([
		['=1+2";=1+2', `"'=1+2"";=1+2"`],
		[`=1+2'" ;,=1+2`, `"'=1+2'"" ;,=1+2"`]
	])('example %s', (input, output) => {
		expect(csvField(input)).toBe(output);
	});

	test.each(['=', '+', '-', '@', '\t', '\r', '\n'])('first character %j', (first) => {
		expect(csvField(`${first}cmd`)).toBe(`"'${first}cmd"`);
	});

	test('after a separator inside the text the field is quoted, so no new cell begins', () => {
		expect(csvField('lot,=1+2')).toBe('"lot,=1+2"');
		expect(csvField('lot;=1+2')).toBe('"lot;=1+2"');
	});

	test('headings are fields like any other', () => {
		expect(csvText({ columns: ['=a'], rows: [] })).toBe(`"'=a"\r\n`);
	});
});

describe('rule 3, numbers', () => {
	test('stay numbers, a minus included; text that looks like one is text', () => {
		expect(csvField({ digits: '-12.5' })).toBe('-12.5');
		expect(csvField({ digits: '0.000001' })).toBe('0.000001');
		expect(csvField('-12.5')).toBe(`"'-12.5"`);
	});

	test.each(['=1', '1+1', '', 'NaN', '1,000'])('%j is refused', (digits) => {
		expect(() => csvField({ digits })).toThrow(RangeError);
	});
});

test('rule 4: UTF-8 with a byte order mark', () => {
	const bytes = csvBytes({ columns: ['é'], rows: [] });
	expect([...bytes]).toEqual([0xef, 0xbb, 0xbf, 0xc3, 0xa9, 0x0d, 0x0a]);
});
