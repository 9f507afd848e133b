import type { Actor } from '#lib/domain/access/role.ts';
import type { Database } from '#lib/server/db/client.ts';
import type { RereadingJob } from '#lib/server/jobs/rereading.ts';

declare global {
	namespace App {
		interface Locals {
			database: Database;
			/** Reads every log again in the background when a method was raised. */
			rereading: RereadingJob;
			/** The moment this request is answered, UTC milliseconds: read once. */
			now: number;
			/** Who asks: acts are done with this role and recorded under this name. */
			actor: Actor;
		}
	}
}

export {};
