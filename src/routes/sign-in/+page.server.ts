import { fail, redirect } from '@sveltejs/kit';
import { localPath } from '#lib/server/auth/returnTo.ts';
import { signIn } from '#lib/server/commands/signIn.ts';
import { hasUsers } from '#lib/server/store/people.ts';
import { browserOf, holdSession, textOf } from '../session.server.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals, url }) => {
	if (!(await hasUsers(locals.database.orm))) redirect(303, '/welcome');
	return { to: localPath(url.searchParams.get('to')) };
};

export const actions: Actions = {
	default: async (event) => {
		const { locals, request } = event;
		const form = await request.formData();
		const login = textOf(form, 'login');
		const to = localPath(textOf(form, 'to'));
		const signedIn = await signIn(locals, {
			login,
			password: textOf(form, 'password'),
			code: textOf(form, 'code'),
			address: event.getClientAddress(),
			browser: browserOf(event)
		});
		if (!signedIn.ok) return fail(400, { login, to, problems: signedIn.problems });
		holdSession(event, signedIn.value.secret);
		redirect(303, to);
	}
};
