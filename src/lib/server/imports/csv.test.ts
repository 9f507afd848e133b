import { expect, test } from 'vitest';
import { parseCsv } from './csv.ts';

// RFC 4180 section 2, rules 5 to 7; the parsed cells agree with Python's csv module (shared check values).
test('rules 1 and 3 (RFC 4180, 2.7): doubled quotes are one quote', () => {
	const { rows, faults } = parseCsv('"aaa","b ""bb""","ccc"', ',');
	expect(rows).toEqual([['aaa', 'b "bb"', 'ccc']]);
	expect(faults).toEqual([]);
});

test('rule 1 (RFC 4180, 2.6): quoted cells hold commas and line breaks, and a last cell can be empty', () => {
	const { rows } = parseCsv('aaa,"b ""bb""","c,cc","line1\r\nline2",\r\n', ',');
	expect(rows).toEqual([['aaa', 'b "bb"', 'c,cc', 'line1\r\nline2', '']]);
});

test('rule 3: CRLF, LF and CR end rows, a blank line counts, the last row needs no end', () => {
	expect(parseCsv('a;b\r\n1;2\n\n3;4\r5;6', ';').rows).toEqual([
		['a', 'b'],
		['1', '2'],
		[''],
		['3', '4'],
		['5', '6']
	]);
	expect(parseCsv('a,b\n', ',').endsWithLineEnd).toBe(true);
	expect(parseCsv('a,b', ',').endsWithLineEnd).toBe(false);
});

test('rule 2: a quote inside an unquoted cell is an ordinary character', () => {
	const { rows, faults } = parseCsv('5" screen,x\n', ',');
	expect(rows).toEqual([['5" screen', 'x']]);
	expect(faults).toEqual([]);
});

test('rule 4: faults name row and column', () => {
	expect(parseCsv('a,b\nc,"d"e,f\n', ',').faults).toEqual([
		{
			row: 2,
			column: 2,
			message: "found 'e' after a closing quote, expected a delimiter or the end of the row"
		}
	]);
	const open = parseCsv('a,b\nc,"d\ne,f\n', ',');
	expect(open.faults).toMatchObject([{ row: 2, column: 2 }]);
	expect(open.faults[0]!.message).toContain('never closes');
});

test('limits stop a hostile file with a fault', () => {
	const limits = { maxRows: 2, maxColumns: 3, maxCell: 4 };
	expect(parseCsv('a\nb\nc\n', ',', limits).faults[0]!.message).toContain('more than 2 rows');
	expect(parseCsv('a\nb\n', ',', limits).faults).toEqual([]);
	expect(parseCsv('a,b,c,d\n', ',', limits).faults[0]!.message).toContain('more than 3 columns');
	expect(parseCsv('abcde\n', ',', limits).faults[0]!.message).toContain('5 characters');
});
