import { and, eq, isNull } from 'drizzle-orm';
import { ROLES, type Role } from '#lib/domain/access/role.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { INVITATION_MS } from '../auth/lifetimes.ts';
import { hashOf, newSecret } from '../auth/secret.ts';
import { invitation } from '../db/schema.ts';
import { findUserById } from '../store/people.ts';
import { note, type Deed } from './act.ts';

/** Invites somebody. @returns the secret of the link, which is shown once */
export async function invitePerson(
	deed: Deed,
	input: { readonly name: string; readonly role: string }
): Promise<Outcome<{ secret: string }>> {
	const name = input.name.trim();
	const role = ROLES.find((each) => each === input.role);
	if (!role)
		return bad({
			path: 'role',
			message: `Found '${input.role}', expected one of ${ROLES.join(', ')}.`
		});
	if (name === '' || name.length > 60)
		return bad({ path: 'name', message: 'Expected a name of 1 to 60 characters.' });
	await note(deed, 'invite person', null, { name, role });
	return good({ secret: await insertInvitation(deed, name, role, null) });
}

/** A link that lets a person back in who lost the password or the second factor. */
export async function inviteBack(
	deed: Deed,
	userId: number
): Promise<Outcome<{ secret: string; name: string }>> {
	const found = await findUserById(deed.tx, userId);
	if (!found) return bad({ path: 'person', message: 'There is no such person.' });
	const { name, role } = found;
	await note(deed, 'invite person', null, { name, role, backIn: true });
	return good({ name, secret: await insertInvitation(deed, name, role, userId) });
}

async function insertInvitation(
	deed: Deed,
	name: string,
	role: Role,
	userId: number | null
): Promise<string> {
	const secret = newSecret();
	const life = { createdAt: deed.now, expiresAt: deed.now + INVITATION_MS, by: deed.by };
	await deed.tx.insert(invitation).values({ hash: hashOf(secret), name, role, userId, ...life });
	return secret;
}

/** Takes an invitation back that nobody has used. */
export async function withdrawInvitation(deed: Deed, id: number): Promise<Outcome<null>> {
	const rows = await deed.tx
		.update(invitation)
		.set({ withdrawnAt: deed.now })
		.where(and(eq(invitation.id, id), isNull(invitation.usedAt), isNull(invitation.withdrawnAt)))
		.returning({ name: invitation.name });
	if (!rows[0]) return bad({ path: 'invitation', message: 'It was used or taken back meanwhile.' });
	await note(deed, 'withdraw invitation', null, { name: rows[0].name });
	return good(null);
}
