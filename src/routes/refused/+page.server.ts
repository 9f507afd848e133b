import { error } from '@sveltejs/kit';
import { openedBy } from '#lib/domain/access/places.ts';
import { localPath } from '#lib/server/auth/returnTo.ts';
import type { PageServerLoad } from './$types';

/** Where hooks.server.ts leads whoever may not open a page: the words why. */
export const load: PageServerLoad = ({ locals, url }) => {
	const from = localPath(url.searchParams.get('from'));
	const roles = new Intl.ListFormat('en-GB', { type: 'disjunction' }).format(openedBy(from));
	error(
		403,
		`The page ${from} is for ${roles || 'nobody'}; your role is ${locals.actor.role}. If it should be yours, ask an owner to change your role.`
	);
};
