import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import pdfMake from 'pdfmake';
import type { TDocumentDefinitions } from 'pdfmake/interfaces.js';

/**
 * Papers as PDF. Nothing is fetched, and of the machine's files only the fonts that come with pdfmake are
 * read: text in a paper comes from people and must not be able to reach further.
 */
const FONTS = join(
	dirname(createRequire(import.meta.url).resolve('pdfmake/package.json')),
	'fonts',
	'Roboto'
);

pdfMake.setFonts({
	Roboto: {
		normal: join(FONTS, 'Roboto-Regular.ttf'),
		bold: join(FONTS, 'Roboto-Medium.ttf'),
		italics: join(FONTS, 'Roboto-Italic.ttf'),
		bolditalics: join(FONTS, 'Roboto-MediumItalic.ttf')
	}
});
pdfMake.setUrlAccessPolicy(() => false);
pdfMake.setLocalAccessPolicy((path) => dirname(path) === FONTS);

/** The bytes of a paper. */
export async function pdfBytes(paper: TDocumentDefinitions): Promise<Uint8Array<ArrayBuffer>> {
	return new Uint8Array(await pdfMake.createPdf(paper).getBuffer());
}

/** A paper as the answer to a request; browsers show it, and save it under its name. */
export function pdfResponse(bytes: Uint8Array<ArrayBuffer>, fileName: string): Response {
	return new Response(bytes, {
		headers: {
			'content-type': 'application/pdf',
			'content-disposition': `inline; filename="${fileName.replace(/[^\w.-]/g, '_')}"`,
			'cache-control': 'no-store'
		}
	});
}
