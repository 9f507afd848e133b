import { error, redirect } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { askToReadAnew } from '#lib/server/commands/readAnew.ts';
import { loadReadingsPage } from '#lib/server/views/rereading.ts';
import { pageOf } from '#lib/ui/format/address.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = ({ locals, url }) => {
	const { rereading } = locals;
	const asked = (name: string) => url.searchParams.get(name)?.trim() ?? '';
	return loadReadingsPage(
		locals.database.orm,
		locals.now,
		{ isRunning: rereading.isRunning(), failure: rereading.failure() },
		{
			run: Number(asked('run')) || null,
			kind: asked('kind'),
			q: asked('q'),
			page: pageOf(url, Number.MAX_SAFE_INTEGER)
		}
	);
};

export const actions: Actions = {
	default: async ({ locals }) => {
		const asked = await perform(locals, askToReadAnew);
		if (!asked.ok) error(403, asked.problems[0]!.message);
		locals.rereading.start(locals.actor.name);
		redirect(303, '/readings');
	}
};
