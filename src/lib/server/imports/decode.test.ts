import { expect, test } from 'vitest';
import { decode } from './decode.ts';

const utf8 = (text: string) => new TextEncoder().encode(text);
const utf16le = (text: string) => new Uint8Array(Buffer.from(text, 'utf16le'));
const utf16be = (text: string) => new Uint8Array(Buffer.from(text, 'utf16le').swap16());
const TEXT = 'Zeit;Röster °C\r\n0;20,5\r\n';

test.each([
	['UTF-8', utf8(TEXT), 'utf-8'],
	['UTF-8 with mark', utf8('\ufeff' + TEXT), 'utf-8'],
	['UTF-16 LE with mark', utf16le('\ufeff' + TEXT), 'utf-16le'],
	['UTF-16 BE with mark', utf16be('\ufeff' + TEXT), 'utf-16be'],
	['UTF-16 LE without mark', utf16le(TEXT), 'utf-16le'],
	['UTF-16 BE without mark', utf16be(TEXT), 'utf-16be'],
	['Windows-1252', new Uint8Array(Buffer.from(TEXT, 'latin1')), 'windows-1252']
] as const)('rules 1 and 2: %s gives the same text without mark', (_name, bytes, encoding) => {
	const outcome = decode(bytes, 'a.csv');
	expect(outcome.ok && outcome.value.text).toBe(TEXT);
	expect(outcome.ok && outcome.value.encoding).toBe(encoding);
	expect(outcome.ok && outcome.value.notes.length).toBe(encoding === 'windows-1252' ? 1 : 0);
});

test('rule 2: the euro sign of Windows-1252 is 0x80 (Windows code page 1252 table, from memory)', () => {
	const outcome = decode(new Uint8Array([0x61, 0x80, 0x0a]), 'a.csv');
	expect(outcome.ok && outcome.value.text).toBe('a€\n');
});

const message = (bytes: Uint8Array, maxBytes?: number) => {
	const outcome = decode(bytes, 'a.csv', maxBytes === undefined ? {} : { maxBytes });
	return outcome.ok ? 'ok' : outcome.problems.map((p) => `${p.path}: ${p.message}`).join('\n');
};

test('rule 3: what is no whole text is a problem that names the file', () => {
	expect(message(new Uint8Array())).toBe('a.csv: found an empty file, expected rows of text');
	expect(message(utf8(' \n\n'))).toContain('only blanks');
	expect(message(utf8('abc,d\n'), 5)).toContain('found 6 bytes, expected at most 5 bytes');
	expect(message(utf8('a,b\n1,\u00002\n'))).toContain('NUL byte in line 2');
	expect(message(utf8('a,b\n1,\u00072\n'))).toContain('control character (code 7)');
	expect(message(new Uint8Array([0x50, 0x4b, 3, 4, 20, 0]))).toContain('workbook');
	expect(message(utf8('%PDF-1.4'))).toContain('a PDF');
});

test('rule 3: a file cut off inside a character is told, one that only ends in an accent is not', () => {
	const whole = utf8('Röst,é');
	expect(message(whole.subarray(0, whole.length - 1))).toContain('cut off');
	expect(message(utf16le('\ufeffab').subarray(0, 5))).toContain('cut off');
	expect(message(new Uint8Array(Buffer.from('caf\u00e9', 'latin1')))).toBe('ok');
});
