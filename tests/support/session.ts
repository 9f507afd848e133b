import type { Role } from '#lib/domain/access/role.ts';
import { startSession } from '#lib/server/commands/signIn.ts';
import { openDatabase } from '#lib/server/db/client.ts';
import { user } from '#lib/server/db/schema.ts';

/**
 * Makes an account of a role in a server's database and signs it in, without a password.
 * @param databaseUrl `databaseUrl` of a `TestServer`
 * @returns the value of its session's cookie; see `cookieHeader` and `openPage`'s `session`
 */
export async function signedIn(
	databaseUrl: string,
	role: Role,
	name = `A ${role}`
): Promise<string> {
	const database = await openDatabase({ url: databaseUrl });
	try {
		return await database.write(async (tx) => {
			const now = Date.now();
			const login = `${name.toLowerCase().replace(/\s+/g, '-')}-${now}`;
			const row = { login, name, role, password: 'none', createdAt: now };
			const [made] = await tx.insert(user).values(row).returning({ id: user.id });
			return startSession({ tx, now }, made!.id, 'test');
		});
	} finally {
		await database.close();
	}
}

/** The header that a request of that session carries. */
export function cookieHeader(session: string): { readonly cookie: string } {
	return { cookie: `session=${session}` };
}
