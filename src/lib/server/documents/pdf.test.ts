import { expect, test } from 'vitest';
import { pdfPages } from '#support/pdfText.ts';
import { factColumns, paper, ruledTable, section } from './paper.ts';
import { pdfBytes } from './pdf.ts';

const FACTS = {
	title: 'Paper',
	about: 'Lot X-1',
	siteName: 'Halden Row',
	madeAt: '25 Nov 2026, 10:05',
	orientation: 'portrait'
} as const;

test('a paper has its text, its page numbers, when it was made and the caution on every page', async () => {
	const rows = Array.from({ length: 90 }, (_, i) => [`row ${i}`, `${i} kg`]);
	const columns = [
		{ label: 'What', width: '*' as const },
		{ label: 'Mass', width: 'auto' as const, numeric: true }
	];
	const bytes = await pdfBytes(
		paper(FACTS, [
			section('Café ō ż £ − ≥'),
			factColumns(
				[
					['Kind', 'washed'],
					['Empty', null]
				],
				2
			),
			ruledTable(columns, rows, { caption: 'Of the week' })
		])
	);
	const pages = await pdfPages(bytes);
	expect(pages.length).toBeGreaterThan(1);
	expect(pages[0]).toContain('Café ō ż £ − ≥');
	expect(pages[0]).toContain('washed');
	expect(pages[0]).not.toContain('Empty');
	pages.forEach((page, i) => {
		expect(page).toContain(`Page ${i + 1} of ${pages.length}`);
		expect(page).toContain('Made 25 Nov 2026, 10:05');
		expect(page).toContain('fire and air-quality hazard');
		expect(page).toContain('Of the week');
	});
	expect(pages.at(-1)).toContain('row 89');
});

test.each(['/etc/hostname', 'file:///etc/hostname', 'http://127.0.0.1:9/x.png'])(
	'a paper can not reach %s',
	async (image) => {
		await expect(pdfBytes({ content: [{ image }] })).rejects.toThrow();
	}
);
