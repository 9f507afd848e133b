import { json } from '@sveltejs/kit';
import { placeOfRequest } from '#lib/server/auth/passkey.ts';
import { localPath } from '#lib/server/auth/returnTo.ts';
import { beginPasskeySignIn, signInByPasskey } from '#lib/server/commands/signInByPasskey.ts';
import { answerIn, browserOf, holdSession, textOf } from '../../session.server.ts';
import type { RequestHandler } from './$types';

/**
 * Signs in by a passkey, in two calls of the page's script: without `answer` it gives what the device has to
 * sign; with the device's answer as JSON, the session and the address `to` go on to. Refused is 400.
 */
export const POST: RequestHandler = async (event) => {
	const { locals, request, url } = event;
	const form = await request.formData();
	const place = placeOfRequest(url);
	if (!form.has('answer')) {
		const begun = await beginPasskeySignIn(locals, place);
		return begun.ok ? json(begun.value) : json({ problems: begun.problems }, { status: 400 });
	}
	const signedIn = await signInByPasskey(locals, place, {
		answer: answerIn(textOf(form, 'answer')),
		address: event.getClientAddress(),
		browser: browserOf(event)
	});
	if (!signedIn.ok) return json({ problems: signedIn.problems }, { status: 400 });
	holdSession(event, signedIn.value.secret);
	return json({ to: localPath(textOf(form, 'to')) });
};
