import { error, fail, redirect } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { closeCuppingSession } from '#lib/server/commands/closeCuppingSession.ts';
import { sessionHref } from '#lib/server/views/cupping/coffee.ts';
import { loadSessionPage } from '#lib/server/views/cupping/session.ts';
import { numberIn } from '../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, params }) => {
	const { database, actor } = locals;
	const session = await loadSessionPage(database.orm, numberIn(params.id), actor.name);
	if (!session) error(404, `There is no cupping session ${params.id}.`);
	return { session, cupper: actor.name };
};

export const actions: Actions = {
	default: async ({ request, locals, params }) => {
		const leaveOut = (await request.formData()).get('leave_out') === 'yes';
		const sessionId = numberIn(params.id);
		const closed = await perform(locals, (deed) =>
			closeCuppingSession(deed, { sessionId, closedAt: locals.now, leaveOut })
		);
		if (!closed.ok) return fail(400, { problems: [...closed.problems] });
		redirect(303, sessionHref(sessionId));
	}
};
