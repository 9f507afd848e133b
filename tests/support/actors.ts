import type { Actor, Role } from '#lib/domain/access/role.ts';

/** Someone of a role, without an account. */
export function someone(role: Role, name = 'Jo'): Actor {
	return { userId: null, name, role };
}

/** An owner of that name: may do everything. */
export function owner(name: string): Actor {
	return someone('owner', name);
}
