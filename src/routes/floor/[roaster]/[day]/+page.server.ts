import { error, fail, redirect } from '@sveltejs/kit';
import { isDay } from '#lib/domain/quantity/week.ts';
import { perform } from '#lib/server/commands/act.ts';
import { recordSlot } from '#lib/server/commands/recordSlot.ts';
import { instantOf } from '#lib/server/imports/cells.ts';
import { readFields } from '#lib/server/imports/fields.ts';
import { requireSite } from '#lib/server/store/site.ts';
import { loadFloorSheet } from '#lib/server/views/floor.ts';
import { fieldsOf, refused, roastForm } from '../../../tests/forms.server.ts';
import { numberTyped } from '../../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params, url }) => {
	const { roaster, day } = params;
	if (!isDay(day)) error(404, `There is no day ${day}; days are such as 2026-11-25.`);
	const sheet = await loadFloorSheet(locals.database.orm, locals.now, roaster, day);
	if (!sheet) error(404, `There is no roaster ${roaster}.`);
	const moved = url.searchParams.get('moved');
	return { sheet, moved: moved === null ? null : numberTyped(moved) };
};

export const actions: Actions = {
	record: async ({ locals, params, request }) => {
		const [form, { timeZone }] = await Promise.all([
			request.formData(),
			requireSite(locals.database.orm)
		]);
		const fields = fieldsOf(form);
		const read = readFields(fields, roastForm, null);
		if (!read.ok) return fail(400, refused('record', fields, read.problems));
		const { roastedAt, chargeG, outG, note } = read.value;
		const input = { slotId: numberTyped(fields['slot']), chargeG, outG, note };
		const outcome = await perform(locals, (deed) =>
			recordSlot(deed, { ...input, roastedAt: instantOf(roastedAt, timeZone) })
		);
		if (!outcome.ok) return fail(400, refused('record', fields, outcome.problems));
		const { roaster, day } = params;
		redirect(303, `/floor/${encodeURIComponent(roaster)}/${day}?moved=${outcome.value.gaveWay}`);
	}
};
