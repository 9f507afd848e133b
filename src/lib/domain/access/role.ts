/** What a person is here for; it decides what they may do and open (rights.ts, places.ts). */
export const ROLES = ['owner', 'operations', 'roasting', 'quality', 'finance', 'viewer'] as const;
export type Role = (typeof ROLES)[number];

/** Each role in words, for the page that gives it. */
export const ROLE_WORDS: Readonly<Record<Role, string>> = {
	owner: 'does everything, and lets people in',
	operations: 'lots, stock, tests, weeks, orders and the set-up',
	roasting: 'samples, tests, roasts, stock movements and weeks',
	quality: 'measurements, cuppings, verdicts and sign-off',
	finance: 'price terms, cost rates, what tests brought in, and product prices',
	viewer: 'reads; changes nothing'
};

/** What an API token may do at most; never more than its owner's role. */
export const SCOPES = ['read', 'record logs', 'all'] as const;
export type Scope = (typeof SCOPES)[number];

/** Each scope in words. */
export const SCOPE_WORDS: Readonly<Record<Scope, string>> = {
	read: 'reads; changes nothing',
	'record logs': 'reads, and sends in the logs of roasts',
	all: 'everything that its owner may do'
};

/** Who acts: a person, or the system under a name of its own. */
export interface Actor {
	/** Account, or null for the system (an import, a job, the command line). */
	readonly userId: number | null;
	readonly name: string;
	readonly role: Role;
	/** Set when a token acts: it narrows the role. */
	readonly scope?: Scope;
}

/** An import, a job or a command line acts under its own name with the owner's rights. */
export function systemActor(name: string): Actor {
	return { userId: null, name, role: 'owner' };
}
