import { fail, redirect } from '@sveltejs/kit';
import type { Actions, PageServerLoad } from './$types';

const ONE_YEAR_S = 365 * 24 * 3600;
const LONGEST = 60;

export const load: PageServerLoad = ({ url }) => ({
	back: localPath(url.searchParams.get('back'))
});

export const actions: Actions = {
	default: async ({ request, cookies }) => {
		const form = await request.formData();
		const name = String(form.get('name') ?? '').trim();
		if (name === '' || name.length > LONGEST)
			return fail(400, {
				name,
				problems: [{ path: 'name', message: `Expected a name of 1 to ${LONGEST} characters.` }]
			});
		cookies.set('recorded_by', name, {
			path: '/',
			maxAge: ONE_YEAR_S,
			httpOnly: true,
			sameSite: 'lax',
			secure: false
		});
		redirect(303, localPath(String(form.get('back') ?? '')));
	}
};

/** Only addresses of this site: no open redirect. */
function localPath(path: string | null): string {
	return path && /^\/(?![/\\])/.test(path) ? path : '/';
}
