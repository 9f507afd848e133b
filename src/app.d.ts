import type { Actor } from '#lib/domain/access/role.ts';
import type { Database } from '#lib/server/db/client.ts';
import type { LiveChanges } from '#lib/server/jobs/liveChanges.ts';
import type { PlanSearching } from '#lib/server/jobs/planSearching.ts';
import type { RereadingJob } from '#lib/server/jobs/rereading.ts';

declare global {
	namespace App {
		interface Locals {
			database: Database;
			/** Reads every log again in the background when a method was raised. */
			rereading: RereadingJob;
			/** Searches better plans of weeks in the background. */
			planSearching: PlanSearching;
			/** Tells open pages what changed. */
			live: LiveChanges;
			/** Number of the newest act before a page was read; 0 for what is no page, none where it is open to all. */
			newestAct?: number;
			/** The moment this request is answered, UTC milliseconds: read once. */
			now: number;
			/** Who asks: acts are done with this role and recorded under this name. */
			actor: Actor;
			/** The session that asks; null for a token, a stranger and a demo without sign-in. */
			sessionId: number | null;
			/** The demo lets everyone on this machine act as `actor`, and nobody has signed in. */
			isOpenDemo: boolean;
		}
	}
}

export {};
