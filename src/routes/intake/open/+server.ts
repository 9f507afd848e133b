import { error, json } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { openIntake } from '#lib/server/commands/openIntake.ts';
import type { RequestHandler } from './$types';

/** Opens an intake that files are then sent to one by one; answers `{ id }`. */
export const POST: RequestHandler = async ({ locals }) => {
	const opened = await perform(locals, openIntake);
	if (!opened.ok) error(400, opened.problems[0]!.message);
	return json({ id: opened.value.intakeId }, { status: 201 });
};
