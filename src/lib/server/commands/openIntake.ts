import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { intake } from '../db/schema.ts';
import { note, type Deed } from './act.ts';

/** Opens an intake: a tray for log files that are looked at together and taken in together. */
export async function openIntake(deed: Deed): Promise<Outcome<{ intakeId: number }>> {
	const rows = await deed.tx
		.insert(intake)
		.values({ openedAt: deed.now, by: deed.by })
		.returning({ id: intake.id });
	const intakeId = rows[0]!.id;
	await note(deed, 'open an intake', null, { intakeId });
	return good({ intakeId });
}
