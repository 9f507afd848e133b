import { existsSync, globSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { seededChance } from '#lib/domain/stats/chance.ts';
import { TABLES, type TableFile } from '#lib/server/imports/tables.ts';
import { ROOT } from '../../src/cli/support/build.ts';

/**
 * Bad files by number: the same number is the same file on every machine,
 * as long as the demo's files are the same. Each is a real file of the demo,
 * of every table and every way a log is written, after one to four mishaps. Some stay good by luck.
 */
export interface BadFile {
	readonly number: number;
	/** The table it was; null for a log. */
	readonly table: TableFile | null;
	readonly fileName: string;
	readonly bytes: Uint8Array;
	/** What was done to it, for whoever looks at a failure. */
	readonly mishaps: readonly string[];
}

interface Original {
	readonly table: TableFile | null;
	readonly fileName: string;
	readonly text: string;
}

type Chance = () => number;

const FOLDER = join(ROOT, 'demo-data');
/** Enough rows for every column to show what it is; whole files would only be slower. */
const ROWS_KEPT = 24;
const LOG_ROWS_KEPT = 60;

/** The bad file of a number. */
export function badFile(number: number): BadFile {
	const chance = seededChance(Math.imul(number + 1, 0x9e3779b1));
	const originals = loadOriginals();
	// Logs are half of it, whatever the number of tables.
	const all = chance() < 0.5 ? originals.tables : originals.logs;
	const { table, fileName, text } = pick(all, chance);
	const mishaps: string[] = [];
	let spoiled = text;
	const times = 1 + Math.floor(chance() * 3);
	for (let k = 0; k < times; k++) {
		const [name, mishap] = pick(TEXT_MISHAPS, chance);
		mishaps.push(name);
		spoiled = mishap(spoiled, chance);
	}
	const [name, asBytes] = chance() < 0.5 ? BYTE_MISHAPS[0]! : pick(BYTE_MISHAPS, chance);
	mishaps.push(name);
	return { number, table, fileName, bytes: asBytes(spoiled, chance), mishaps };
}

let loaded: { readonly tables: readonly Original[]; readonly logs: readonly Original[] } | null =
	null;

function loadOriginals() {
	loaded ??= {
		tables: (Object.keys(TABLES) as TableFile[]).map((table) => ({
			table,
			fileName: table,
			text: head(textOf(table), ROWS_KEPT)
		})),
		// Every ninth log has every make of machine among them.
		logs: globSync('logs/*/*.csv', { cwd: FOLDER })
			.sort()
			.filter((_, i) => i % 9 === 0)
			.map((path) => ({
				table: null,
				fileName: path.replace(/^.*\//, ''),
				text: head(readFileSync(join(FOLDER, path), 'utf8'), LOG_ROWS_KEPT)
			}))
	};
	return loaded;
}

/** A table that the demo has no rows of is its headings. */
function textOf(table: TableFile): string {
	const path = join(FOLDER, table);
	if (existsSync(path)) return readFileSync(path, 'utf8');
	const columns = Object.values(TABLES[table].columns) as { name: string }[];
	return `${columns.map(({ name }) => name).join(',')}\n`;
}

const head = (text: string, rows: number) =>
	text
		.split('\n')
		.slice(0, rows + 1)
		.join('\n') + '\n';

function pick<T>(all: readonly T[], chance: Chance): T {
	return all[Math.floor(chance() * all.length)]!;
}

/** What people, spreadsheets and loggers put where a number, a day or a name belongs. */
const CELLS: readonly string[] = [
	...['1e309', '-1e309', '-0', 'NaN', 'Infinity', ',', '.', '-', '+', '1e5', '0x10', '１２', '٣'],
	...['1,234', '1.234,5', "1'234.5", '1 234', '9007199254740993', '0.0000000001', '--1', '1-'],
	...['0000-00-00', '9999-12-31', '2026-02-30', '2026-13-45 25:61', '31/12/2026', '1:99', '24:01'],
	...[
		'-271821-04-20',
		'2026-W00',
		'2026-W54',
		'275760-09-14 00:00',
		'99:59:59',
		'2026-03-29 01:30'
	],
	...['=1+2', '=HYPERLINK("x")', '+1', '-1+1', '@SUM(A1)', "=cmd|' /C calc'!A0", '\t=1', '#REF!'],
	...[
		'<img src=x onerror=alert(1)>',
		'<script>alert(1)</script>',
		'&lt;b&gt;',
		'${7*7}',
		'{{7*7}}'
	],
	...["'; DROP TABLE lot; --", '../../etc/passwd', '/etc/passwd', 'C:\\x', 'logs/../../x.csv'],
	...['\u202eabc', '\u200f', '\u200b', '\ufeff', 'e\u0301', '\ud83d\ude00', '\ufffd', '\u0085'],
	...['__proto__', 'constructor', 'toString', 'null', 'undefined', 'true', 'n/a', '""', '"', '\0'],
	...['x'.repeat(300), '9'.repeat(400), '1;2;3', '0:00 60; 0:00 60', 'HR-101', ' ', '']
];

type TextMishap = readonly [string, (text: string, chance: Chance) => string];

const TEXT_MISHAPS: readonly TextMishap[] = [
	['one cell replaced', (text, chance) => onCell(text, chance, () => pick(CELLS, chance))],
	['several cells replaced', (text, chance) => several(text, chance, () => pick(CELLS, chance))],
	['a cell grown', (text, chance) => onCell(text, chance, (cell) => cell + hugeText(chance))],
	[
		'a quoted cell grown',
		(text, chance) => onCell(text, chance, () => `"${hugeText(chance).replaceAll('\n', ',\n')}"`)
	],
	['cut off', (text, chance) => text.slice(0, Math.floor(chance() * text.length))],
	['start cut off', (text, chance) => text.slice(Math.floor(chance() * text.length))],
	['a quote put in', (text, chance) => put(text, chance, '"')],
	['a piece twice', (text, chance) => put(text, chance, piece(text, chance))],
	['a piece missing', (text, chance) => text.replace(piece(text, chance), '')],
	['line ends mixed', (text, chance) => text.replace(/\r?\n/g, () => pick(LINE_ENDS, chance))],
	['rows ragged', (text, chance) => onRow(text, chance, (row) => row + ',,1'.repeat(dice(chance)))],
	[
		'cells of a row missing',
		(text, chance) => onRow(text, chance, (row) => row.replace(/.*?[,;]/, ''))
	],
	['a row twice', (text, chance) => onRow(text, chance, (row) => `${row}\n${row}`)],
	['rows shuffled', shuffled],
	['a heading twice', (text) => text.replace(/^([^,;\r\n]*)([,;])/, '$1$2$1$2')],
	['headings missing', (text) => text.replace(/^.*\r?\n/, '')],
	['a heading renamed', (text, chance) => text.replace(/^[^,;\r\n]*/, () => pick(CELLS, chance))],
	['thousands of columns', (text, chance) => onRow(text, chance, (row) => row + ',7'.repeat(5000))],
	[
		'another delimiter',
		(text, chance) => text.replaceAll(',', pick([';', '\t', '|', ',,', '#'], chance))
	],
	['points for commas', (text) => text.replaceAll('.', ',')],
	['a preamble', (text, chance) => `${pick(CELLS, chance)}\n\n${pick(CELLS, chance)};x\n${text}`],
	[
		'a named delimiter',
		(text, chance) => `sep=${pick([',', ';', '"', '\n', 'x'], chance)}\n${text}`
	],
	['a NUL', (text, chance) => put(text, chance, '\0')],
	['a right-to-left mark', (text, chance) => put(text, chance, pick(['\u202e', '\u200f'], chance))],
	['one character only', (_, chance) => pick(CELLS, chance)],
	['the same again and again', (text, chance) => text.repeat(1 + Math.floor(chance() * 4))]
];

const LINE_ENDS = ['\n', '\r\n', '\r', '\n\r', '\u2028', '\n\n'];

type ByteMishap = readonly [string, (text: string, chance: Chance) => Uint8Array];

const utf8 = (text: string) => new TextEncoder().encode(text);
const joined = (...parts: readonly Uint8Array[]) => new Uint8Array(Buffer.concat(parts));

const BYTE_MISHAPS: readonly ByteMishap[] = [
	['UTF-8', utf8],
	['a byte order mark', (text) => utf8(`\ufeff${text}`)],
	['UTF-16 with its mark', (text) => new Uint8Array(Buffer.from(`\ufeff${text}`, 'utf16le'))],
	['UTF-16 without', (text) => new Uint8Array(Buffer.from(text, 'utf16le'))],
	[
		'UTF-16, big end first',
		(text) => new Uint8Array(Buffer.from(`\ufeff${text}`, 'utf16le').swap16())
	],
	['UTF-16, a byte short', (text) => new Uint8Array(Buffer.from(text, 'utf16le')).slice(0, -1)],
	['Latin-1', (text) => new Uint8Array(Buffer.from(`é${text}`, 'latin1'))],
	['cut in a character', (text) => utf8(`${text}é\u{1f600}`).slice(0, -2)],
	['bits flipped', flipped],
	['noise behind', (text, chance) => joined(utf8(text), noise(chance))],
	['noise alone', (_, chance) => noise(chance)],
	['a zip in front', (text) => joined(ZIP_HEAD, utf8(text))],
	['a zip behind', (text) => joined(utf8(text), ZIP_HEAD)],
	['a workbook that would unfold to gigabytes', () => ZIP_BOMB],
	['gzip', (text) => joined(Uint8Array.of(0x1f, 0x8b, 8, 0), utf8(text))],
	['nothing at all', () => new Uint8Array()]
];

/** A local file header of a zip (its published layout, from memory): stored name `xl/workbook.xml`. */
const ZIP_HEAD = joined(
	Uint8Array.of(0x50, 0x4b, 3, 4, 20, 0, 0, 0, 8, 0, 0, 0, 0, 0, 0, 0, 0, 0),
	Uint8Array.of(64, 0, 0, 0, 0xff, 0xff, 0xff, 0x7f, 15, 0, 0, 0),
	utf8('xl/workbook.xml')
);
/** Says that it holds two gigabytes, in a few hundred bytes. */
const ZIP_BOMB = joined(ZIP_HEAD, new Uint8Array(400).fill(0xaa));

function hugeText(chance: Chance): string {
	const unit = pick(['x', '9', ' ', '"', '=', '\u202e', '.', '1,', '\n', '1 '], chance);
	return unit.repeat(pick([50, 1000, 2001, 25_000], chance));
}

const dice = (chance: Chance) => 1 + Math.floor(chance() * 6);

function put(text: string, chance: Chance, what: string): string {
	const at = Math.floor(chance() * (text.length + 1));
	return text.slice(0, at) + what + text.slice(at);
}

function piece(text: string, chance: Chance): string {
	const at = Math.floor(chance() * (text.length + 1));
	return text.slice(at, at + Math.floor(chance() * 60));
}

function onRow(text: string, chance: Chance, change: (row: string) => string): string {
	const rows = text.split('\n');
	const at = Math.floor(chance() * rows.length);
	rows[at] = change(rows[at]!);
	return rows.join('\n');
}

function onCell(text: string, chance: Chance, change: (cell: string) => string): string {
	return onRow(text, chance, (row) => {
		const cells = row.split(/([,;\t])/);
		const at = 2 * Math.floor((chance() * (cells.length + 1)) / 2);
		cells[at] = change(cells[at] ?? '');
		return cells.join('');
	});
}

function several(text: string, chance: Chance, cell: () => string): string {
	let out = text;
	for (let k = dice(chance); k > 0; k--) out = onCell(out, chance, cell);
	return out;
}

function shuffled(text: string, chance: Chance): string {
	const [heading = '', ...rows] = text.split('\n');
	for (let i = rows.length - 1; i > 0; i--) {
		const j = Math.floor(chance() * (i + 1));
		[rows[i], rows[j]] = [rows[j]!, rows[i]!];
	}
	return [heading, ...rows].join('\n');
}

function flipped(text: string, chance: Chance): Uint8Array {
	const bytes = utf8(text);
	for (let k = dice(chance); k > 0 && bytes.length > 0; k--)
		bytes[Math.floor(chance() * bytes.length)]! ^= 1 << Math.floor(chance() * 8);
	return bytes;
}

function noise(chance: Chance): Uint8Array {
	return Uint8Array.from({ length: Math.floor(chance() * 300) }, () => chance() * 256);
}
