import { error, fail, redirect } from '@sveltejs/kit';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import { perform } from '#lib/server/commands/act.ts';
import { saveCostRate } from '#lib/server/commands/saveCostRate.ts';
import { saveRoaster } from '#lib/server/commands/saveRoaster.ts';
import { saveShifts, type ShiftInput } from '#lib/server/commands/saveShifts.ts';
import { readFields, typedFields } from '#lib/server/imports/fields.ts';
import { costRatesTable, roastersTable, shiftsTable } from '#lib/server/imports/tables.ts';
import { loadRoasterPage } from '#lib/server/views/setup.ts';
import { WEEKDAYS } from '#lib/ui/format/day.ts';
import { numberTyped } from '../../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params, url }) => ({
	roaster: await known(locals, params.code, url.searchParams.get('from'))
});

export const actions: Actions = {
	roaster: async ({ locals, params, request }) => {
		const fields = { ...typedFields(await request.formData()), code: params.code };
		const refuse = (problems: readonly Problem[]) =>
			fail(400, { roaster: { problems, fields }, shifts: null, rate: null });
		const read = readFields(fields, roastersTable, null);
		if (!read.ok) return refuse(read.problems);
		const seen = numberTyped((fields as Record<string, string>)['version']);
		const saved = await perform(locals, (deed) => saveRoaster(deed, read.value, seen));
		if (!saved.ok) return refuse(saved.problems);
		redirect(303, '/setup/roasters');
	},
	shifts: async ({ locals, params, request }) => {
		const fields = typedFields(await request.formData());
		const refuse = (problems: readonly Problem[]) =>
			fail(400, { roaster: null, shifts: { problems, fields }, rate: null });
		const roaster = await known(locals, params.code);
		const { shifts, places, problems } = readShifts(fields, params.code);
		if (problems.length > 0) return refuse(problems);
		const saved = await perform(locals, (deed) =>
			saveShifts(deed, roaster.id, shifts, numberTyped(fields['version']))
		);
		if (!saved.ok)
			return refuse(
				saved.problems.map(({ path, message }) => {
					const [, at = '1', rest = ''] = /^shift (\d+)(.*)$/.exec(path) ?? [];
					return { path: `${places[Number(at) - 1] ?? path}${rest}`, message };
				})
			);
		redirect(303, `/setup/roasters/${encodeURIComponent(params.code)}#shifts`);
	},
	rate: async ({ locals, params, request, url }) => {
		const roaster = await known(locals, params.code);
		const typed = typedFields(await request.formData());
		const fields = { ...typed, roaster: params.code, currency: roaster.currency };
		const refuse = (problems: readonly Problem[]) =>
			fail(400, { roaster: null, shifts: null, rate: { problems, fields } });
		const read = readFields(fields, costRatesTable, roaster.currency);
		if (!read.ok) return refuse(read.problems);
		const { roaster: _, ...rate } = read.value;
		// The version is of the day that the form was made for; on another day new rates are meant.
		const isSameDay = rate.fromDay === url.searchParams.get('from');
		const seen = isSameDay ? numberTyped(typed['version']) : 0;
		const saved = await perform(locals, (deed) =>
			saveCostRate(deed, { ...rate, roasterId: roaster.id }, seen)
		);
		if (!saved.ok) return refuse(saved.problems);
		redirect(303, `/setup/roasters/${encodeURIComponent(params.code)}#rates`);
	}
};

async function known(locals: App.Locals, code: string, rateFrom: string | null = null) {
	const roaster = await loadRoasterPage(locals.database.orm, locals.now, code, rateFrom);
	return roaster ?? error(404, `There is no roaster ${code}.`);
}

/** Shifts of the fields `start_1_0`, `end_1_0`: weekday and place. A place left blank is no shift. */
function readShifts(fields: Readonly<Record<string, string>>, roaster: string) {
	const shifts: ShiftInput[] = [];
	/** `Monday, shift 1` by shift. */
	const places: string[] = [];
	const problems: Problem[] = [];
	for (const [name, start] of Object.entries(fields)) {
		const [, weekday, place] = /^start_([1-7])_(\d+)$/.exec(name) ?? [];
		if (weekday === undefined || place === undefined) continue;
		const end = fields[`end_${weekday}_${place}`] ?? '';
		if (start.trim() === '' && end.trim() === '') continue;
		const where = `${WEEKDAYS[Number(weekday) - 1]}, shift ${Number(place) + 1}`;
		const read = readFields({ roaster, weekday, start, end }, shiftsTable, null);
		if (read.ok) {
			const { startMin, endMin } = read.value;
			shifts.push({ weekday: Number(weekday), startMin, endMin });
			places.push(where);
		} else
			problems.push(
				...read.problems.map(({ path, message }) => ({ path: `${where}, ${path}`, message }))
			);
	}
	return { shifts, places, problems };
}
