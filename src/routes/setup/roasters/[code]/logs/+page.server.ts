import { error, fail, redirect } from '@sveltejs/kit';
import { good, type Problem } from '#lib/domain/quantity/problem.ts';
import { perform } from '#lib/server/commands/act.ts';
import { saveDrumSettings } from '#lib/server/commands/saveDrumSettings.ts';
import * as cell from '#lib/server/imports/cells.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { filled, type Column, type TableSpec } from '#lib/server/imports/tableFile.ts';
import {
	givenSettings,
	loadDrumSettingsPage,
	type DrumSettingValues
} from '#lib/server/views/drumSettings.ts';
import { numberTyped } from '../../../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = ({ locals, params }) => known(locals, params.code);

export const actions: Actions = {
	save: async ({ locals, params, request }) => {
		const fields = typedFields(await request.formData());
		const refuse = (problems: readonly Problem[]) => fail(400, { problems, fields });
		const page = await known(locals, params.code);
		const read = readFields(fields, settingsForm(page.values), null);
		if (!read.ok) return refuse(read.problems);
		const saved = await perform(locals, (deed) =>
			saveDrumSettings(
				deed,
				{
					roasterId: page.id,
					given: givenSettings(read.value),
					reason: fields['reason']?.trim() ?? ''
				},
				numberTyped(fields['version'])
			)
		);
		if (!saved.ok) return refuse(saved.problems);
		redirect(303, `/setup/roasters/${encodeURIComponent(params.code)}/logs`);
	}
};

/** One field a setting; what is too small for its use is the domain's to say. */
function settingsForm(values: DrumSettingValues): TableSpec<DrumSettingValues> {
	const number = { ...cell.real(-10_000, 10_000, ''), describe: 'a number' };
	const columns = Object.fromEntries(
		Object.keys(values).map((name) => [name, filled(name, number)])
	) as Record<keyof DrumSettingValues, Column<number>>;
	return { name: 'how logs are read', columns, finish: good };
}

async function known(locals: App.Locals, code: string) {
	const page = await loadDrumSettingsPage(locals.database.orm, code);
	return page ?? error(404, `There is no roaster ${code}.`);
}
