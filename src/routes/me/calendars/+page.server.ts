import { error, fail, redirect } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { endCalendar, makeCalendar } from '#lib/server/commands/calendarFeeds.ts';
import { loadOwnCalendars } from '#lib/server/views/calendar.ts';
import { textOf } from '../../session.server.ts';
import { numberTyped } from '../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals }) => {
	const { userId } = locals.actor;
	if (userId === null) error(404, 'There is no account behind this session.');
	return loadOwnCalendars(locals.database.orm, locals.now, userId);
};

export const actions: Actions = {
	make: async ({ locals, request, url }) => {
		const of = textOf(await request.formData(), 'of');
		const made = await perform(locals, (deed) =>
			makeCalendar(deed, of === 'own' ? null : numberTyped(of))
		);
		if (!made.ok) return fail(400, { problems: made.problems });
		return { problems: [], address: `${url.origin}/calendar/${made.value.secret}.ics` };
	},
	end: async ({ locals, request }) => {
		const id = numberTyped(textOf(await request.formData(), 'id'));
		const ended = await perform(locals, (deed) => endCalendar(deed, id));
		if (!ended.ok) return fail(400, { problems: ended.problems });
		redirect(303, '/me/calendars');
	}
};
