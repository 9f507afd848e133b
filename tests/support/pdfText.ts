import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs';

/** The text of each page of a PDF, read by an independent reader; blanks of every kind as one space. */
export async function pdfPages(bytes: Uint8Array): Promise<string[]> {
	const pdf = await getDocument({ data: bytes.slice(), useSystemFonts: false, verbosity: 0 })
		.promise;
	const pages: string[] = [];
	for (let number = 1; number <= pdf.numPages; number += 1) {
		const { items } = await (await pdf.getPage(number)).getTextContent();
		const text = items.map((item) => ('str' in item ? item.str : '')).join(' ');
		pages.push(text.replaceAll(/\s+/g, ' '));
	}
	await pdf.destroy();
	return pages;
}
