/** Files of a form on their way into an intake. */
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { addIntakeFile } from '#lib/server/commands/addIntakeFile.ts';
import { openIntake } from '#lib/server/commands/openIntake.ts';

/** The files chosen in a form; an input left empty is no file. */
export function chosenFiles(form: FormData): File[] {
	return form
		.getAll('files')
		.filter((each) => each instanceof File)
		.filter((file) => file.name !== '' || file.size > 0);
}

/** The lot chosen before the files, or null. */
export function chosenLot(form: FormData): string | null {
	const lot = form.get('lot');
	return typeof lot === 'string' && lot.trim() !== '' ? lot.trim() : null;
}

/** An intake with all files of a form, or, when one is refused, none at all. */
export async function takeUploads(act: Act, form: FormData): Promise<Outcome<number>> {
	const read = await readAll(form);
	if (!read.ok) return read;
	return perform(act, async (deed) => {
		const opened = await openIntake(deed);
		if (!opened.ok) return opened;
		const { intakeId } = opened.value;
		const problems: Problem[] = [];
		for (const file of read.value) {
			const added = await addIntakeFile(deed, { intakeId, ...file });
			if (!added.ok) problems.push(...added.problems);
		}
		return problems.length > 0 ? bad(...problems) : good(intakeId);
	});
}

/** More files for an open intake, all or none. */
export async function addUploads(
	act: Act,
	intakeId: number,
	form: FormData
): Promise<Outcome<number>> {
	const read = await readAll(form);
	if (!read.ok) return read;
	return perform(act, async (deed) => {
		const problems: Problem[] = [];
		for (const file of read.value) {
			const added = await addIntakeFile(deed, { intakeId, ...file });
			if (!added.ok) problems.push(...added.problems);
		}
		return problems.length > 0 ? bad(...problems) : good(intakeId);
	});
}

async function readAll(form: FormData) {
	const files = chosenFiles(form);
	if (files.length === 0)
		return bad({ path: 'files', message: 'Found no file, expected at least one log.' });
	const lotCode = chosenLot(form);
	return good(
		await Promise.all(
			files.map(async (file) => ({ fileName: file.name, bytes: await file.bytes(), lotCode }))
		)
	);
}
