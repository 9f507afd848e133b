import type { Role } from '#lib/domain/access/role.ts';
import { perform } from '#lib/server/commands/act.ts';
import { invitePerson } from '#lib/server/commands/invitePerson.ts';
import { acceptInvitation, setUpOwner } from '#lib/server/commands/makeAccount.ts';
import type { Database } from '#lib/server/db/client.ts';
import { findUser, hasUsers } from '#lib/server/store/people.ts';

/** The people of the demo roastery, all invented; the first owns it and lets the others in. */
const DEMO_PEOPLE: readonly { login: string; name: string; role: Role }[] = [
	{ login: 'wren', name: 'Wren Aldous', role: 'owner' },
	{ login: 'tilda', name: 'Tilda Marsh', role: 'operations' },
	{ login: 'owen', name: 'Owen Prayle', role: 'roasting' },
	{ login: 'ines', name: 'Ines Calder', role: 'quality' },
	{ login: 'priya', name: 'Priya Vell', role: 'finance' },
	{ login: 'bea', name: 'Bea Thornwick', role: 'viewer' }
];

/** Whom everyone on this machine acts as. */
export const DEMO_OWNER = DEMO_PEOPLE[0]!.login;
/** No secret: the demo holds invented records. */
const DEMO_PASSWORD = 'from green to release';

/** Makes the demo's people by the same acts as a roastery would; does nothing once there are any. */
export async function makeDemoPeople(database: Database, now: number): Promise<void> {
	if (await hasUsers(database.orm)) return;
	const [first, ...others] = DEMO_PEOPLE;
	const account = { password: DEMO_PASSWORD, browser: 'demo' };
	must(await setUpOwner({ database, now }, { ...first!, ...account }));
	const { id: userId, name, role } = (await findUser(database.orm, first!.login))!;
	for (const { role: given, ...person } of others) {
		const invited = must(
			await perform({ database, now, actor: { userId, name, role } }, (deed) =>
				invitePerson(deed, { name: person.name, role: given })
			)
		);
		must(await acceptInvitation({ database, now }, invited.secret, { ...person, ...account }));
	}
}

function must<T>(
	outcome: { ok: true; value: T } | { ok: false; problems: readonly { message: string }[] }
): T {
	if (outcome.ok) return outcome.value;
	throw new Error(outcome.problems.map(({ message }) => message).join('\n'));
}

/** How to try the roles, for the terminal. */
export function demoPeopleLines(isOpen: boolean): readonly string[] {
	const [first, ...others] = DEMO_PEOPLE.map(({ login, role }) => `${login} (${role})`);
	const way = isOpen
		? `Everyone on this machine acts as ${first}; to try a role, sign in as ${others.join(', ')}`
		: `Sign in as ${[first, ...others].join(', ')}`;
	return [`${way}; the password is "${DEMO_PASSWORD}".`];
}
