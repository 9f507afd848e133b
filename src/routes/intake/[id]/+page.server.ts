import { error, fail, redirect, type RequestEvent } from '@sveltejs/kit';
import type { Outcome, Problem } from '#lib/domain/quantity/problem.ts';
import { perform } from '#lib/server/commands/act.ts';
import { commitIntake } from '#lib/server/commands/commitIntake.ts';
import { describeIntakeFiles } from '#lib/server/commands/describeIntakeFiles.ts';
import { removeIntakeFile } from '#lib/server/commands/removeIntakeFile.ts';
import { typedFields } from '#lib/server/imports/fields.ts';
import { loadIntakePage } from '#lib/server/views/intake.ts';
import { sampleHref } from '#lib/server/views/places.ts';
import { addUploads } from '../uploads.server.ts';
import { describedFiles, type Fields } from './described.ts';
import { numberIn, numberTyped } from '../../numberIn.ts';
import type { Actions, PageServerLoad, RouteParams } from './$types';

export const load: PageServerLoad = async ({ locals, params }) => {
	const page = await loadIntakePage(locals.database.orm, numberIn(params.id));
	if (!page) error(404, `There is no intake ${params.id}.`);
	return page;
};

type Event = RequestEvent<RouteParams>;

/** Nothing typed is lost: the fields go back with what is wrong. */
function refused(fields: Fields, problems: readonly Problem[], title: string) {
	return fail(400, { fields, problems: [...problems], title });
}

async function typed({ request }: Event): Promise<Fields> {
	return typedFields(await request.formData());
}

/** Keeps what stands in the form, whichever button was pressed. */
function save({ locals, params }: Event, fields: Fields, fill = false) {
	return perform(locals, (deed) =>
		describeIntakeFiles(deed, {
			intakeId: numberIn(params.id),
			files: describedFiles(fields, { fill })
		})
	);
}

/** Saves, then does `next`; what refuses either is shown with the input. */
async function afterSaving<T>(
	event: Event,
	title: string,
	next: (fields: Fields, versions: ReadonlyMap<number, number>) => Promise<Outcome<T>>
) {
	const fields = await typed(event);
	const saved = await save(event, fields);
	if (!saved.ok) return { refusal: refused(fields, saved.problems, 'Nothing was saved') };
	const done = await next(fields, saved.value);
	return done.ok ? { done: done.value } : { refusal: refused(fields, done.problems, title) };
}

export const actions: Actions = {
	save: async (event) => {
		const fields = await typed(event);
		const saved = await save(event, fields);
		if (!saved.ok) return refused(fields, saved.problems, 'Nothing was saved');
		redirect(303, `/intake/${event.params.id}`);
	},
	fill: async (event) => {
		const fields = await typed(event);
		const saved = await save(event, fields, true);
		if (!saved.ok) return refused(fields, saved.problems, 'Nothing was saved');
		redirect(303, `/intake/${event.params.id}`);
	},
	look: async (event) => {
		const fields = await typed(event);
		const saved = await save(event, fields);
		if (!saved.ok) return refused(fields, saved.problems, 'Nothing was saved');
		redirect(303, `/intake/${event.params.id}/${numberTyped(fields['file'])}`);
	},
	remove: async (event) => {
		const intakeId = numberIn(event.params.id);
		const { refusal, done } = await afterSaving(event, 'The file was not removed', (fields) =>
			perform(event.locals, (deed) =>
				removeIntakeFile(deed, { intakeId, fileId: numberTyped(fields['file']) })
			)
		);
		if (refusal) return refusal;
		redirect(303, done!.left === 0 ? '/intake' : `/intake/${intakeId}`);
	},
	take: async (event) => {
		const intakeId = numberIn(event.params.id);
		const { refusal, done } = await afterSaving(event, 'Nothing was taken in', (_, versions) =>
			perform(event.locals, (deed) => commitIntake(deed, { intakeId, versions }))
		);
		if (refusal) return refusal;
		const [first, second] = done!.taken;
		const sampleId = second ? null : (first?.sampleId ?? null);
		redirect(303, sampleId === null ? `/intake/${intakeId}` : sampleHref(sampleId));
	},
	add: async ({ locals, params, request }) => {
		const added = await addUploads(locals, numberIn(params.id), await request.formData());
		if (!added.ok)
			return fail(400, {
				fields: {} as Fields,
				problems: [...added.problems],
				title: 'No file was added'
			});
		redirect(303, `/intake/${params.id}`);
	}
};
