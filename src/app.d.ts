import type { Database } from '#lib/server/db/client.ts';

declare global {
	namespace App {
		interface Locals {
			database: Database;
			/** The moment this request is answered, UTC milliseconds: read once. */
			now: number;
			/** The name that acts are recorded under. */
			by: string;
		}
	}
}

export {};
