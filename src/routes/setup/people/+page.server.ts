import { fail, redirect, type RequestEvent } from '@sveltejs/kit';
import { ROLES } from '#lib/domain/access/role.ts';
import type { Outcome } from '#lib/domain/quantity/problem.ts';
import { perform, type Deed } from '#lib/server/commands/act.ts';
import {
	changeRole,
	endAccount,
	endAnyToken,
	endSessionsOf,
	restoreAccount
} from '#lib/server/commands/changePerson.ts';
import { inviteBack, invitePerson, withdrawInvitation } from '#lib/server/commands/invitePerson.ts';
import { loadPeoplePage } from '#lib/server/views/people.ts';
import { textOf } from '../../session.server.ts';
import { numberTyped } from '../../numberIn.ts';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals }) => ({
	...(await loadPeoplePage(locals.database.orm, locals.now)),
	roles: ROLES
});

/** One of the small forms of the page: an id, and an act on it. */
function onId(act: (deed: Deed, id: number, form: FormData) => Promise<Outcome<unknown>>) {
	return async ({ locals, request }: RequestEvent) => {
		const form = await request.formData();
		const id = numberTyped(textOf(form, 'id'));
		const done = await perform(locals, (deed) => act(deed, id, form));
		if (!done.ok) return fail(400, { problems: done.problems, fields: null, link: null });
		redirect(303, '/setup/people');
	};
}

/** The address that is given to the person; made of this request's own, as the browser sees the site. */
function linkOf(url: URL, name: string, secret: string) {
	const link = { name, address: `${url.origin}/invitation/${secret}` };
	return { problems: [], fields: null, link };
}

export const actions: Actions = {
	invite: async ({ locals, request, url }) => {
		const form = await request.formData();
		const fields = { name: textOf(form, 'name'), role: textOf(form, 'role') };
		const invited = await perform(locals, (deed) => invitePerson(deed, fields));
		if (!invited.ok) return fail(400, { problems: invited.problems, fields, link: null });
		return linkOf(url, fields.name, invited.value.secret);
	},
	back: async ({ locals, request, url }) => {
		const id = numberTyped(textOf(await request.formData(), 'id'));
		const invited = await perform(locals, (deed) => inviteBack(deed, id));
		if (!invited.ok) return fail(400, { problems: invited.problems, fields: null, link: null });
		return linkOf(url, invited.value.name, invited.value.secret);
	},
	withdraw: onId((deed, id) => withdrawInvitation(deed, id)),
	role: onId((deed, userId, form) =>
		changeRole(deed, {
			userId,
			role: textOf(form, 'role'),
			...(form.has('seen') ? { seen: textOf(form, 'seen') } : {})
		})
	),
	end: onId((deed, id) => endAccount(deed, id)),
	restore: onId((deed, id) => restoreAccount(deed, id)),
	sessions: onId((deed, id) => endSessionsOf(deed, id)),
	token: onId((deed, id) => endAnyToken(deed, id))
};
