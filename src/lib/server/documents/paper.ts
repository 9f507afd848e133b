import type { Content, ContentText, TableCell, TDocumentDefinitions } from 'pdfmake/interfaces.js';

/** What every paper has in common: A4, one family of type, black ink, a foot with pages and caution. */

export const INK = '#111111';
export const SOFT = '#555555';
export const LINE = '#b5b5b5';
/** Width between the margins of a paper, points. */
export const TEXT_WIDTH = { portrait: 515, landscape: 762 } as const;

const MARGIN = 40;
const CAUTION =
	'Roasting is a fire and air-quality hazard. This paper is advice for trained operators; the machine ' +
	"maker's limits and local fire, gas and workplace-air codes come first.";

interface PaperFacts {
	readonly title: string;
	/** In the foot of every page: what it is about. */
	readonly about: string;
	readonly siteName: string;
	/** `25 Nov 2026, 10:05`. */
	readonly madeAt: string;
	readonly orientation: keyof typeof TEXT_WIDTH;
}

/** A paper with its foot. */
export function paper(
	{ title, about, siteName, madeAt, orientation }: PaperFacts,
	content: Content[]
): TDocumentDefinitions {
	return {
		pageSize: 'A4',
		pageOrientation: orientation,
		pageMargins: [MARGIN, 36, MARGIN, 56],
		info: { title: `${title}, ${siteName}`, author: siteName, subject: about },
		language: 'en-GB',
		defaultStyle: { font: 'Roboto', fontSize: 8.5, color: INK, lineHeight: 1.1 },
		styles: {
			title: { fontSize: 17, bold: true },
			section: { fontSize: 11, bold: true, margin: [0, 12, 0, 4] },
			small: { fontSize: 7.5, color: SOFT },
			head: { fontSize: 7.5, bold: true, color: SOFT }
		},
		footer: (page, pages) => ({
			margin: [MARGIN, 8, MARGIN, 0],
			style: 'small',
			stack: [
				{ canvas: [rule(TEXT_WIDTH[orientation])] },
				{
					margin: [0, 3, 0, 2],
					columns: [
						{ text: `${siteName} · ${about}`, width: '*' },
						{ text: `Made ${madeAt}`, width: 'auto', margin: [0, 0, 16, 0] },
						{ text: `Page ${page} of ${pages}`, width: 'auto' }
					]
				},
				{ text: CAUTION }
			]
		}),
		// A heading doesn't stay alone at the foot of a page.
		pageBreakBefore: (node, near) =>
			node.headlineLevel === 1 && near.getFollowingNodesOnPage().length === 0,
		content
	};
}

function rule(width: number) {
	return {
		type: 'line' as const,
		...{ x1: 0, y1: 0, x2: width, y2: 0 },
		lineWidth: 0.5,
		lineColor: LINE
	};
}

/** A heading that stays with what follows it. */
export function section(text: string): Content {
	return { text, style: 'section', headlineLevel: 1 };
}

/** Soft text under a table or chart. */
export function remark(text: string): Content {
	return { text, style: 'small', margin: [0, 2, 0, 0] };
}

export interface PaperColumn {
	readonly label: string;
	readonly width: number | '*' | 'auto';
	readonly numeric?: boolean;
}

interface TableOptions {
	/** A last row of sums. */
	readonly sums?: readonly string[];
	/** Rows to write on. */
	readonly tall?: boolean;
	/** A heading of the table's own, repeated with its heads. */
	readonly caption?: string;
}

/** A ruled table; heads are repeated on each page and rows are not split. */
export function ruledTable(
	columns: readonly PaperColumn[],
	rows: readonly (readonly (string | ContentText)[])[],
	options: TableOptions = {}
): Content {
	const side = (i: number) => (columns[i]?.numeric ? 'right' : 'left');
	const cells = (row: readonly (string | ContentText)[], more: object = {}): TableCell[] =>
		row.map((cell, i) => ({
			alignment: side(i),
			...(typeof cell === 'string' ? { text: cell } : cell),
			...more
		}));
	const pad = options.tall ? 4 : 2;
	const captions: TableCell[][] = options.caption
		? [
				[
					{ text: options.caption, style: 'section', colSpan: columns.length },
					...columns.slice(1).map(() => '')
				]
			]
		: [];
	return {
		table: {
			headerRows: captions.length + 1,
			dontBreakRows: true,
			keepWithHeaderRows: 1,
			widths: columns.map((column) => column.width),
			body: [
				...captions,
				cells(
					columns.map((column) => column.label),
					{ style: 'head' }
				),
				...rows.map((row) => cells(row)),
				...(options.sums ? [cells(options.sums, { bold: true })] : [])
			]
		},
		layout: {
			hLineWidth: (i, node) => (i <= captions.length || i === node.table.body.length ? 0 : 0.5),
			vLineWidth: () => 0,
			hLineColor: (i) => (i === captions.length + 1 ? SOFT : LINE),
			paddingLeft: (i) => (i === 0 ? 0 : 5),
			paddingRight: (i, node) => (i === (node.table.widths?.length ?? 0) - 1 ? 0 : 5),
			paddingTop: () => pad,
			paddingBottom: () => pad
		}
	};
}

/** Facts in columns of term and value, read down. Facts without a value are left out. */
export function factColumns(
	facts: readonly (readonly [term: string, value: string | null])[],
	columns: number
): Content {
	const known = facts.filter(([, value]) => value !== null && value !== '');
	const long = Math.ceil(known.length / columns);
	return {
		columnGap: 18,
		columns: Array.from({ length: columns }, (_, i) => ({
			width: '*',
			stack: known.slice(i * long, (i + 1) * long).map(([term, value]) => ({
				margin: [0, 0, 0, 2] as [number, number, number, number],
				columnGap: 6,
				columns: [
					{ text: term, color: SOFT, width: 'auto' },
					{ text: value ?? '', alignment: 'right' as const, width: '*' }
				]
			}))
		}))
	};
}
