import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { intake } from '../db/schema.ts';
import type { Deed } from './act.ts';

/** Opens an intake: a tray for log files that are looked at together and taken in together. */
export async function openIntake(deed: Deed): Promise<Outcome<{ intakeId: number }>> {
	const rows = await deed.tx
		.insert(intake)
		.values({ openedAt: deed.now, by: deed.by })
		.returning({ id: intake.id });
	return good({ intakeId: rows[0]!.id });
}
