/**
 * Bytes to text. Rules:
 * 1. A byte order mark decides; without one, UTF-16 is told by where its zero bytes stand.
 * 2. Otherwise the bytes are UTF-8 if they are valid UTF-8, else Windows-1252, and a note says so.
 * 3. A file that isn't text, is too large, empty or cut off in the middle of a character is a Problem,
 *    never a guess and never a throw.
 */
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';

export const ENCODINGS = ['utf-8', 'utf-16le', 'utf-16be', 'windows-1252'] as const;
export type Encoding = (typeof ENCODINGS)[number];

/** Largest file taken when the caller sets no limit of its own. */
export const MAX_FILE_BYTES = 16 * 1024 * 1024;

/** Largest roast log: ten rows a second for an hour take about half of it. */
export const MAX_LOG_BYTES = 4 * 1024 * 1024;

export interface Decoded {
	readonly text: string;
	readonly encoding: Encoding;
	/** What the reader should know about how the text was made, in plain words. */
	readonly notes: readonly string[];
}

export interface DecodeOptions {
	readonly maxBytes?: number;
	/** Use this encoding instead of finding one. */
	readonly encoding?: Encoding;
}

/** Text of a file, without byte order mark. Problems name the file. */
export function decode(
	bytes: Uint8Array,
	fileName: string,
	options: DecodeOptions = {}
): Outcome<Decoded> {
	const fail = (message: string) => bad<Decoded>({ path: fileName, message });
	const max = options.maxBytes ?? MAX_FILE_BYTES;
	if (bytes.length === 0) return fail('found an empty file, expected rows of text');
	if (bytes.length > max)
		return fail(`found ${sizeText(bytes.length)}, expected at most ${sizeText(max)}`);
	const binary = knownBinary(bytes);
	if (binary) return fail(`found ${binary}, expected plain text; save it as CSV first`);

	const encoding = options.encoding ?? findEncoding(bytes);
	if (encoding === 'cut utf-8')
		return fail(
			'found the end of the file in the middle of a character: it is cut off; copy it again'
		);
	if (encoding.startsWith('utf-16') && bytes.length % 2 === 1)
		return fail('found an odd number of bytes in UTF-16 text: the file is cut off; copy it again');
	const text = toText(bytes, encoding);
	if (text === null) return fail(`found bytes that are not ${encoding}, expected ${encoding} text`);
	const control = firstControl(text);
	if (control) return fail(control);
	if (text.trim() === '') return fail('found only blanks, expected rows of text');
	return good({ text, encoding, notes: notesOn(encoding, text) });
}

function sizeText(bytes: number): string {
	return bytes < 1024 * 1024
		? `${bytes.toLocaleString('en-GB')} bytes`
		: `${(bytes / 1024 / 1024).toFixed(1)} MiB`;
}

const SIGNATURES: readonly (readonly [readonly number[], string])[] = [
	[[0x50, 0x4b, 0x03, 0x04], 'a zip archive or spreadsheet workbook'],
	[[0xd0, 0xcf, 0x11, 0xe0], 'a binary office document'],
	[[0x25, 0x50, 0x44, 0x46], 'a PDF'],
	[[0x1f, 0x8b], 'a compressed (gzip) file'],
	[[0x89, 0x50, 0x4e, 0x47], 'a picture (PNG)'],
	[[0xff, 0xd8, 0xff], 'a picture (JPEG)'],
	[[0x53, 0x51, 0x4c, 0x69, 0x74, 0x65, 0x20], 'a database file']
];

function knownBinary(bytes: Uint8Array): string | null {
	const hit = SIGNATURES.find(([head]) => head.every((byte, i) => bytes[i] === byte));
	return hit ? hit[1] : null;
}

function findEncoding(bytes: Uint8Array): Encoding | 'cut utf-8' {
	if (bytes[0] === 0xff && bytes[1] === 0xfe) return 'utf-16le';
	if (bytes[0] === 0xfe && bytes[1] === 0xff) return 'utf-16be';
	return utf16ByZeros(bytes) ?? utf8Or1252(bytes);
}

/** Western text in UTF-16 has a zero in most of its odd (LE) or even (BE) places and few in the others. */
function utf16ByZeros(bytes: Uint8Array): Encoding | null {
	const span = Math.min(bytes.length, 4096);
	const zeros = [0, 0];
	for (let i = 0; i < span; i++) if (bytes[i] === 0) zeros[i % 2]!++;
	const half = span / 2;
	if (zeros[1]! > 0.6 * half && zeros[0]! < 0.05 * half) return 'utf-16le';
	if (zeros[0]! > 0.6 * half && zeros[1]! < 0.05 * half) return 'utf-16be';
	return null;
}

function utf8Or1252(bytes: Uint8Array): Encoding | 'cut utf-8' {
	if (validUtf8(bytes)) return 'utf-8';
	const tail = cutTail(bytes);
	if (tail === 0) return 'windows-1252';
	const head = bytes.subarray(0, bytes.length - tail);
	// Plain ASCII before a last accented byte can be either; only other multi-byte characters tell.
	const multiByte = head.some((byte) => byte >= 0x80);
	return multiByte && validUtf8(head) ? 'cut utf-8' : 'windows-1252';
}

function validUtf8(bytes: Uint8Array): boolean {
	return toText(bytes, 'utf-8') !== null;
}

/** How many bytes at the end begin a UTF-8 character that isn't finished; 0 when there are none. */
function cutTail(bytes: Uint8Array): number {
	for (let back = 1; back <= Math.min(3, bytes.length); back++) {
		const byte = bytes[bytes.length - back]!;
		const needs = byte >= 0xf0 ? 4 : byte >= 0xe0 ? 3 : byte >= 0xc0 ? 2 : 0;
		if (needs) return needs > back ? back : 0;
		if (byte < 0x80) return 0;
	}
	return 0;
}

function toText(bytes: Uint8Array, encoding: Encoding): string | null {
	try {
		return new TextDecoder(encoding, { fatal: true }).decode(bytes);
	} catch {
		return null;
	}
}

/** Control characters other than tab and line ends never stand in a table of text. */
function firstControl(text: string): string | null {
	// eslint-disable-next-line no-control-regex
	const at = text.search(/[\u0000-\u0008\u000b\u000e-\u001f\u007f-\u0084\u0086-\u009f]/);
	if (at < 0) return null;
	const row = text.slice(0, at).split(/\r\n|\n|\r/).length;
	const code = text.charCodeAt(at);
	const what = code === 0 ? 'a NUL byte' : `a control character (code ${code})`;
	return `found ${what} in line ${row}, expected plain text; is this a binary file?`;
}

function notesOn(encoding: Encoding, text: string): string[] {
	if (encoding !== 'windows-1252') return [];
	// eslint-disable-next-line no-control-regex
	const sample = /[^\u0000-\u007f]/.exec(text)?.[0];
	return [
		'The file is not UTF-8; its letters were read as Windows-1252' +
			(sample ? ` (for instance '${sample}').` : '.')
	];
}
