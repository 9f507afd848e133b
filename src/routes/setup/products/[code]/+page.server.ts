import { error, fail, redirect } from '@sveltejs/kit';
import { leewayProblems } from '#lib/domain/demand/products.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import { perform } from '#lib/server/commands/act.ts';
import { saveBlend, type BlendInput } from '#lib/server/commands/saveBlend.ts';
import { saveProduct } from '#lib/server/commands/saveProduct.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { blendsTable, productsTable } from '#lib/server/imports/tables.ts';
import { loadLots } from '#lib/server/store/lots.ts';
import { loadProductPage } from '#lib/server/views/setup.ts';
import { numberTyped } from '../../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params }) => ({
	product: await known(locals, params.code)
});

export const actions: Actions = {
	product: async ({ locals, params, request }) => {
		const fields: Record<string, string> = {
			...typedFields(await request.formData()),
			code: params.code
		};
		const refuse = (problems: readonly Problem[]) =>
			fail(400, { product: { problems, fields }, blend: null });
		const { currency } = await known(locals, params.code);
		const read = readFields(fields, productsTable, currency);
		if (!read.ok) return refuse(read.problems);
		const seen = numberTyped(fields['version']);
		const saved = await perform(locals, (deed) => saveProduct(deed, read.value, seen));
		if (!saved.ok) return refuse(saved.problems);
		redirect(303, '/setup/products');
	},
	blend: async ({ locals, params, request }) => {
		const fields = typedFields(await request.formData());
		const refuse = (problems: readonly Problem[]) =>
			fail(400, { product: null, blend: { problems, fields } });
		const product = await known(locals, params.code);
		const blend = readBlend(fields, params.code, await lotIds(locals));
		if (blend.problems.length > 0) return refuse(blend.problems);
		const saved = await perform(locals, (deed) =>
			saveBlend(
				deed,
				{ productId: product.id, fromDay: blend.fromDay, parts: blend.parts },
				numberTyped(fields['version'])
			)
		);
		if (!saved.ok) return refuse(saved.problems);
		redirect(303, `/setup/products/${encodeURIComponent(params.code)}#blend`);
	}
};

async function known(locals: App.Locals, code: string) {
	const product = await loadProductPage(locals.database.orm, locals.now, code);
	return product ?? error(404, `There is no product ${code}.`);
}

async function lotIds(locals: App.Locals): Promise<Map<string, number>> {
	return new Map((await loadLots(locals.database.orm)).map((lot) => [lot.code, lot.id]));
}

/**
 * Parts of the fields `lot_0`, `share_0`, `least_0`, `most_0`, `substitutes_0`; a place without lot and share
 * is no part.
 */
function readBlend(
	fields: Readonly<Record<string, string>>,
	product: string,
	ids: ReadonlyMap<string, number>
) {
	const parts: BlendInput['parts'][number][] = [];
	const problems: Problem[] = [];
	let fromDay = '';
	for (const [name, lot] of Object.entries(fields)) {
		const [, place] = /^lot_(\d+)$/.exec(name) ?? [];
		const share = fields[`share_${place}`]?.trim() ?? '';
		if (place === undefined || (lot === '' && share === '')) continue;
		const row = {
			...{ product, from: fields['from'] ?? '', lot, share_pct: share },
			least_pct: fields[`least_${place}`] ?? '',
			most_pct: fields[`most_${place}`] ?? '',
			substitutes: fields[`substitutes_${place}`] ?? ''
		};
		const read = readFields(row, blendsTable, null);
		const where = `Part ${Number(place) + 1}`;
		if (!read.ok) {
			for (const { path, message } of read.problems)
				problems.push({ path: path === 'from' ? 'from' : `${where}, ${path}`, message });
			continue;
		}
		fromDay = read.value.fromDay;
		const lotId = ids.get(lot);
		if (lotId === undefined) problems.push({ path: where, message: `There is no lot ${lot}.` });
		const { sharePermille, leastPermille, mostPermille, substitutes } = read.value;
		const others = substitutes.map((code) => ids.get(code));
		const unknown = substitutes.find((code) => !ids.has(code));
		if (unknown !== undefined)
			problems.push({
				path: `${where}, substitutes`,
				message: `There is no lot ${unknown}.`
			});
		if (lotId === undefined) continue;
		const substituteLotIds = others.filter((id) => id !== undefined);
		const part = { lotId, sharePermille, leastPermille, mostPermille, substituteLotIds };
		const wrong = leewayProblems(part).map((p) => ({ ...p, path: `${where}, ${p.path}` }));
		problems.push(...wrong);
		parts.push(part);
	}
	if (parts.length === 0 && problems.length === 0)
		problems.push({ path: 'Part 1', message: 'Found no part, expected at least one lot.' });
	return { fromDay, parts, problems };
}
