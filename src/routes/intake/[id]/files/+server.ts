import { json } from '@sveltejs/kit';
import { perform } from '#lib/server/commands/act.ts';
import { addIntakeFile } from '#lib/server/commands/addIntakeFile.ts';
import { chosenFiles, chosenLot } from '../../uploads.server.ts';
import { numberIn } from '../../../numberIn.ts';
import type { RequestHandler } from './$types';

/**
 * Puts one file into an open intake. Answers what was found in it, 201 also when it can't be read: it is
 * then shown with its problems. A file that isn't kept is 400 with the reasons.
 */
export const POST: RequestHandler = async ({ locals, params, request }) => {
	const form = await request.formData();
	const [file] = chosenFiles(form);
	if (!file)
		return json(
			{ problems: [{ path: 'files', message: 'Found no file, expected one.' }] },
			{ status: 400 }
		);
	const bytes = await file.bytes();
	const added = await perform(locals, (deed) =>
		addIntakeFile(deed, {
			intakeId: numberIn(params.id),
			fileName: file.name,
			bytes,
			lotCode: chosenLot(form)
		})
	);
	if (!added.ok) return json({ problems: added.problems }, { status: 400 });
	const { rows, problems } = added.value;
	return json({ fileName: file.name, rows, problems }, { status: 201 });
};
