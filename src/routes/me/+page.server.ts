import { error, fail, redirect } from '@sveltejs/kit';
import { SCOPES } from '#lib/domain/access/role.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import { SESSION_COOKIE } from '#lib/server/auth/cookie.ts';
import { TOKEN_DAYS } from '#lib/server/auth/lifetimes.ts';
import { placeOfRequest } from '#lib/server/auth/passkey.ts';
import { perform } from '#lib/server/commands/act.ts';
import {
	beginSecondFactor,
	changePassword,
	endOwnSession,
	endOwnToken,
	makeToken,
	proveSecondFactor,
	removeSecondFactor
} from '#lib/server/commands/changeOwnAccount.ts';
import {
	addPasskey,
	beginPasskey,
	removePasskey,
	renamePasskey
} from '#lib/server/commands/ownPasskeys.ts';
import { signOut } from '#lib/server/commands/signIn.ts';
import { loadOwnPage } from '#lib/server/views/people.ts';
import { answerIn, textOf } from '../session.server.ts';
import { numberTyped } from '../numberIn.ts';
import type { PublicKeyCredentialCreationOptionsJSON } from '@simplewebauthn/server';
import type { Actions, PageServerLoad } from './$types';

export const load: PageServerLoad = async ({ locals }) => {
	const { actor, database, now, sessionId } = locals;
	const own =
		actor.userId === null ? null : await loadOwnPage(database.orm, now, actor.userId, sessionId);
	if (!own) error(404, 'There is no account behind this session.');
	return { own, scopes: SCOPES, days: TOKEN_DAYS };
};

/** What a form of the page is answered with. `shown` is seen this once. */
interface Answer {
	readonly at: 'password' | 'factor' | 'passkeys' | 'sessions' | 'tokens';
	readonly problems: readonly Problem[];
	readonly words?: string;
	readonly codes?: readonly string[];
	readonly token?: string;
	/** What the page's script hands to the device. */
	readonly options?: PublicKeyCredentialCreationOptionsJSON;
}

const refused = (at: Answer['at'], problems: readonly Problem[]) =>
	fail(400, { at, problems } satisfies Answer as Answer);
const done = (answer: Omit<Answer, 'problems'>): Answer => ({ ...answer, problems: [] });

export const actions: Actions = {
	password: async ({ locals, request }) => {
		const form = await request.formData();
		const input = { now: textOf(form, 'password_now'), next: textOf(form, 'password') };
		const changed = await changePassword(locals, { ...input, sessionId: locals.sessionId });
		if (!changed.ok) return refused('password', changed.problems);
		return done({ at: 'password', words: 'The password is changed; your other sessions ended.' });
	},
	factor: async ({ locals, request }) => {
		const begun = await beginSecondFactor(locals, textOf(await request.formData(), 'password_now'));
		if (!begun.ok) return refused('factor', begun.problems);
		redirect(303, '/me#factor');
	},
	prove: async ({ locals, request }) => {
		const code = textOf(await request.formData(), 'code');
		const proved = await perform(locals, (deed) => proveSecondFactor(deed, code));
		if (!proved.ok) return refused('factor', proved.problems);
		return done({ at: 'factor', codes: proved.value.codes });
	},
	no_factor: async ({ locals, request }) => {
		const removed = await removeSecondFactor(
			locals,
			textOf(await request.formData(), 'password_now')
		);
		if (!removed.ok) return refused('factor', removed.problems);
		return done({ at: 'factor', words: 'The second factor is taken off.' });
	},
	begin_passkey: async ({ locals, request, url }) => {
		const passwordNow = textOf(await request.formData(), 'password_now');
		const begun = await beginPasskey(locals, placeOfRequest(url), passwordNow);
		if (!begun.ok) return refused('passkeys', begun.problems);
		return done({
			...{ at: 'passkeys', options: begun.value },
			words: 'Nothing is added yet: a passkey needs script in the browser, to ask the device.'
		});
	},
	add_passkey: async ({ locals, request, url }) => {
		const form = await request.formData();
		const added = await addPasskey(locals, placeOfRequest(url), {
			name: textOf(form, 'passkey_name'),
			answer: answerIn(textOf(form, 'answer'))
		});
		if (!added.ok) return refused('passkeys', added.problems);
		redirect(303, '/me#passkeys');
	},
	rename_passkey: async ({ locals, request }) => {
		const form = await request.formData();
		const input = { id: numberTyped(textOf(form, 'id')), name: textOf(form, 'passkey_name') };
		const renamed = await perform(locals, (deed) => renamePasskey(deed, input));
		if (!renamed.ok) return refused('passkeys', renamed.problems);
		redirect(303, '/me#passkeys');
	},
	remove_passkey: async ({ locals, request }) => {
		const id = numberTyped(textOf(await request.formData(), 'id'));
		const removed = await perform(locals, (deed) => removePasskey(deed, id));
		if (!removed.ok) return refused('passkeys', removed.problems);
		redirect(303, '/me#passkeys');
	},
	end_session: async ({ locals, request }) => {
		const id = numberTyped(textOf(await request.formData(), 'id'));
		const ended = await perform(locals, (deed) => endOwnSession(deed, id));
		if (!ended.ok) return refused('sessions', ended.problems);
		redirect(303, id === locals.sessionId ? '/sign-in' : '/me#sessions');
	},
	token: async ({ locals, request }) => {
		const form = await request.formData();
		const input = {
			name: textOf(form, 'token_name'),
			scope: textOf(form, 'scope'),
			days: Number(textOf(form, 'days'))
		};
		const made = await perform(locals, (deed) => makeToken(deed, input));
		if (!made.ok) return refused('tokens', made.problems);
		return done({ at: 'tokens', token: made.value.secret });
	},
	end_token: async ({ locals, request }) => {
		const id = numberTyped(textOf(await request.formData(), 'id'));
		const ended = await perform(locals, (deed) => endOwnToken(deed, id));
		if (!ended.ok) return refused('tokens', ended.problems);
		redirect(303, '/me#tokens');
	},
	sign_out: async ({ cookies, locals }) => {
		if (locals.sessionId !== null) await signOut(locals, locals.sessionId);
		cookies.delete(SESSION_COOKIE, { path: '/' });
		redirect(303, '/sign-in');
	}
};
