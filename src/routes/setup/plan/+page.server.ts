import { fail, redirect } from '@sveltejs/kit';
import type { PlanWeights } from '#lib/domain/plan/objective.ts';
import type { Outcome, Problem } from '#lib/domain/quantity/problem.ts';
import { isDay } from '#lib/domain/quantity/week.ts';
import { perform, type Deed } from '#lib/server/commands/act.ts';
import {
	saveBreaks,
	saveClosures,
	saveDayHours,
	savePlanSettings,
	saveProfilingHours,
	saveRunsWhere,
	type ClosureInput,
	type DayHoursInput,
	type HoursInput
} from '#lib/server/commands/savePlanning.ts';
import { typedFields } from '#lib/server/imports/fields.ts';
import { loadProducts } from '#lib/server/store/production.ts';
import { loadRoasters } from '#lib/server/store/site.ts';
import { loadPlanSetup } from '#lib/server/views/planSetup.ts';
import { numberTyped } from '../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';
import { WEIGHT_FIELDS } from './weights.ts';

export const load: PageServerLoad = async ({ locals }) => ({
	setup: await loadPlanSetup(locals.database.orm)
});

type Fields = Readonly<Record<string, string>>;

export const actions: Actions = {
	weights: async ({ locals, request }) => {
		const fields = typedFields(await request.formData());
		const problems: Problem[] = [];
		const number = (name: string, most: number) => {
			const value = Number(fields[name]?.trim() || NaN);
			if (value >= 0 && value <= most) return value;
			problems.push({ path: name, message: `Found '${fields[name]}', expected 0 to ${most}.` });
			return 0;
		};
		const weights = Object.fromEntries(
			WEIGHT_FIELDS.map(({ name }) => [name, number(name, 100_000)])
		) as unknown as PlanWeights;
		const separations = {
			darkToLighterMin: number('darkToLighterMin', 240),
			decaf: fields['decaf'] === 'yes',
			certified: fields['certified'] === 'yes',
			flavoured: fields['flavoured'] === 'yes'
		};
		const input = { weights, separations, overtimeMin: number('overtime', 480) };
		return save(locals, 'weights', fields, problems, (deed, seen) =>
			savePlanSettings(deed, input, seen)
		);
	},
	breaks: async ({ locals, request }) => {
		const fields = typedFields(await request.formData());
		const { rows, problems } = await readHours(locals, fields);
		return save(locals, 'breaks', fields, problems, (deed, seen) => saveBreaks(deed, rows, seen));
	},
	profiling: async ({ locals, request }) => {
		const fields = typedFields(await request.formData());
		const { rows, problems } = await readHours(locals, fields);
		return save(locals, 'profiling', fields, problems, (deed, seen) =>
			saveProfilingHours(deed, rows, seen)
		);
	},
	closures: async ({ locals, request }) => {
		const fields = typedFields(await request.formData());
		const { rows, problems } = await readClosures(locals, fields);
		return save(locals, 'closures', fields, problems, (deed, seen) =>
			saveClosures(deed, rows, seen)
		);
	},
	days: async ({ locals, request }) => {
		const fields = typedFields(await request.formData());
		const { rows, problems } = await readDays(locals, fields);
		return save(locals, 'days', fields, problems, (deed, seen) => saveDayHours(deed, rows, seen));
	},
	runs: async ({ locals, request }) => {
		const form = await request.formData();
		const fields = typedFields(form);
		const db = locals.database.orm;
		const [roasters, products] = await Promise.all([loadRoasters(db), loadProducts(db)]);
		const on = new Set(form.getAll('on').map(String));
		const keys = form.getAll('key').map(String);
		const bars = keys.flatMap((key) =>
			roasters
				.filter(({ code }) => !on.has(`${key} on ${code}`))
				.map(({ id }) => ({
					roasterId: id,
					productId: products.find(({ code }) => key === `product ${code}`)?.id ?? null,
					lotKind: key.startsWith('kind ') ? key.slice('kind '.length) : null
				}))
		);
		const flavoured = products
			.filter(({ code }) => form.getAll('flavour').includes(code))
			.map(({ id }) => id);
		return save(locals, 'runs', fields, [], (deed, seen) =>
			saveRunsWhere(deed, { bars, flavoured }, seen)
		);
	}
};

async function save(
	locals: App.Locals,
	part: string,
	fields: Fields,
	problems: readonly Problem[],
	command: (deed: Deed, seen: number) => Promise<Outcome<unknown>>
) {
	if (problems.length > 0) return fail(400, { part, problems, fields });
	const saved = await perform(locals, (deed) => command(deed, numberTyped(fields['version'])));
	if (!saved.ok) return fail(400, { part, problems: saved.problems, fields });
	redirect(303, `/setup/plan#${part}`);
}

/** How many rows a form sent: `start_0`, `start_1`, … */
function rowsOf(fields: Fields, name: string): readonly number[] {
	return Object.keys(fields).flatMap((field) =>
		field.startsWith(`${name}_`) ? [Number(field.slice(name.length + 1))] : []
	);
}

async function readHours(locals: App.Locals, fields: Fields) {
	const roasters = await loadRoasters(locals.database.orm);
	const rows: HoursInput[] = [];
	const problems: Problem[] = [];
	for (const i of rowsOf(fields, 'start')) {
		const [start, end] = [fields[`start_${i}`]?.trim() ?? '', fields[`end_${i}`]?.trim() ?? ''];
		if (start === '' && end === '') continue;
		const [startMin, endMin] = [minuteOf(start), minuteOf(end)];
		if (startMin === null || endMin === null || endMin <= startMin) {
			const message = `Found '${start}' to '${end}', expected times such as 12:00, the end after the start.`;
			problems.push({ path: `row ${i + 1}`, message });
			continue;
		}
		const roasterId = roasters.find(({ code }) => code === fields[`roaster_${i}`])?.id ?? null;
		const days =
			fields[`days_${i}`] === '1-5' ? [1, 2, 3, 4, 5] : [numberTyped(fields[`days_${i}`])];
		rows.push(...days.map((weekday) => ({ roasterId, weekday, startMin, endMin })));
	}
	return { rows, problems };
}

/** Minutes after midnight of `12:00`; null of what is none. */
function minuteOf(text: string): number | null {
	const [, hour, minute] = /^(\d{1,2}):(\d{2})$/.exec(text) ?? [];
	const minutes = Number(hour) * 60 + Number(minute);
	return Number(minute) < 60 && minutes <= 24 * 60 ? minutes : null;
}

async function readClosures(locals: App.Locals, fields: Fields) {
	const roasters = await loadRoasters(locals.database.orm);
	const rows: ClosureInput[] = [];
	const problems: Problem[] = [];
	for (const i of rowsOf(fields, 'from')) {
		const fromDay = fields[`from_${i}`]?.trim() ?? '';
		const toDay = fields[`to_${i}`]?.trim() || fromDay;
		if (fromDay === '' && toDay === '') continue;
		if (!isDay(fromDay) || !isDay(toDay)) {
			const message = `Found '${fromDay}' to '${toDay}', expected days such as 2026-12-24.`;
			problems.push({ path: `row ${i + 1}`, message });
			continue;
		}
		const roasterId = roasters.find(({ code }) => code === fields[`roaster_${i}`])?.id ?? null;
		rows.push({ roasterId, fromDay, toDay, reason: fields[`reason_${i}`]?.trim() ?? '' });
	}
	return { rows, problems };
}

const KINDS: readonly DayHoursInput['kind'][] = ['shift', 'profiling', 'stoppage'];

async function readDays(locals: App.Locals, fields: Fields) {
	const roasters = await loadRoasters(locals.database.orm);
	const rows: DayHoursInput[] = [];
	const problems: Problem[] = [];
	for (const i of rowsOf(fields, 'day')) {
		const typed = (name: string) => fields[`${name}_${i}`]?.trim() ?? '';
		const [day, start, end] = [typed('day'), typed('start'), typed('end')];
		if (day === '') continue;
		const [startMin, endMin] = [minuteOf(start), minuteOf(end)];
		const kind = KINDS.find((one) => one === typed('kind'));
		if (!isDay(day) || startMin === null || endMin === null || !kind) {
			const message = `Found '${typed('kind')}' on '${day}' from '${start}' to '${end}', expected a day and times such as 07:00.`;
			problems.push({ path: `row ${i + 1}`, message });
			continue;
		}
		const roaster = roasters.find(({ code }) => code === typed('roaster'));
		const roasterId = kind === 'profiling' ? null : (roaster?.id ?? null);
		rows.push({ kind, roasterId, day, startMin, endMin, reason: typed('reason') });
	}
	return { rows, problems };
}
