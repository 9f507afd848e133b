import { error, fail, redirect } from '@sveltejs/kit';
import { good, type Problem } from '#lib/domain/quantity/problem.ts';
import { perform } from '#lib/server/commands/act.ts';
import { reviseRecipe } from '#lib/server/commands/recipes.ts';
import * as cell from '#lib/server/imports/cells.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { filled, maybe, orElse, type TableSpec } from '#lib/server/imports/tableFile.ts';
import { findLot } from '#lib/server/store/lots.ts';
import { lotHref } from '#lib/server/views/places.ts';
import { loadRecipePage } from '#lib/server/views/recipe.ts';
import { numberTyped } from '../../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params, url }) => {
	const asked = url.searchParams.get('version');
	const version = asked === null ? null : numberTyped(asked);
	const page = await loadRecipePage(locals.database.orm, locals.now, params.code, version);
	if (!page)
		error(
			404,
			`There is no lot ${params.code}${asked ? `, or no version ${asked} of its recipe` : ''}.`
		);
	return page;
};

const share = { ...cell.real(0, 100, '%'), describe: 'a percentage from 0 to 100' };
const number = { ...cell.real(-1000, 1000, ''), describe: 'a number' };

interface RevisionFields {
	readonly bandC: number;
	readonly markS: number;
	readonly markC: number;
	readonly lossLow: number;
	readonly lossHigh: number;
	readonly colourValue: number | null;
	readonly colourScale: string;
	readonly colourWithin: number | null;
	readonly descriptors: string;
	readonly reason: string;
}

const revision: TableSpec<RevisionFields> = {
	name: 'recipe',
	columns: {
		bandC: filled('band_c', number),
		markS: filled('mark_s', number),
		markC: filled('mark_c', number),
		lossLow: filled('loss_low_pct', share),
		lossHigh: filled('loss_high_pct', share),
		colourValue: maybe('colour_value', number),
		colourScale: orElse('colour_scale', cell.text, ''),
		colourWithin: maybe('colour_within', number),
		descriptors: orElse('descriptors', cell.text, ''),
		reason: filled('reason', cell.text)
	},
	finish: good
};

export const actions: Actions = {
	revise: async ({ locals, params, request }) => {
		const fields = typedFields(await request.formData());
		const refuse = (problems: readonly Problem[]) => fail(400, { problems, fields });
		const lot = await findLot(locals.database.orm, params.code);
		if (!lot) error(404, `There is no lot ${params.code}.`);
		const read = readFields(fields, revision, null);
		if (!read.ok) return refuse(read.problems);
		const { reason, lossLow, lossHigh, colourValue, colourScale, colourWithin, ...rest } =
			read.value;
		const change = {
			...rest,
			lossLow: lossLow / 100,
			lossHigh: lossHigh / 100,
			colour:
				colourValue === null
					? null
					: { value: colourValue, scale: colourScale, within: colourWithin ?? 0 }
		};
		const saved = await perform(locals, (deed) =>
			reviseRecipe(deed, { lotId: lot.id, change, reason }, numberTyped(fields['version']))
		);
		if (!saved.ok) return refuse(saved.problems);
		redirect(303, `${lotHref(params.code)}/recipe`);
	}
};
