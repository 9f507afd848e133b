import { error, fail, redirect } from '@sveltejs/kit';
import { acceptInvitation } from '#lib/server/commands/makeAccount.ts';
import { loadInvitation } from '#lib/server/views/people.ts';
import { browserOf, holdSession, textOf } from '../../session.server.ts';
import type { Actions, PageServerLoad } from './$types';

const SPENT = 'This link was used, taken back or has run out. Ask an owner for another.';

export const load: PageServerLoad = async ({ locals, params }) => {
	const invitation = await loadInvitation(locals.database.orm, locals.now, params.secret);
	if (!invitation) error(410, SPENT);
	return { invitation };
};

export const actions: Actions = {
	default: async (event) => {
		const form = await event.request.formData();
		const fields = { login: textOf(form, 'login'), name: textOf(form, 'name') };
		const made = await acceptInvitation(event.locals, event.params.secret, {
			...fields,
			password: textOf(form, 'password'),
			browser: browserOf(event)
		});
		if (!made.ok) return fail(400, { fields, problems: made.problems });
		holdSession(event, made.value.secret);
		redirect(303, '/');
	}
};
