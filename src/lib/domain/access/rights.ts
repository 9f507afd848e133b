import type { Actor, Role, Scope } from './role.ts';

const EVERYBODY = ['operations', 'roasting', 'quality', 'finance', 'viewer'] as const;

/**
 * The one table of rights to act. Rules:
 * 1. Every act that is written to the audit has a line here, and says which roles may do it.
 * 2. The owner may do everything; a line names the others.
 * 3. An act without a line is a mistake of ours and throws, naming what to add.
 * 4. A token's scope narrows its owner's role and never widens it.
 */
const ACTS = {
	'sign in': EVERYBODY,
	'sign out': EVERYBODY,
	'accept invitation': EVERYBODY,
	'change own password': EVERYBODY,
	'set up own second factor': EVERYBODY,
	'remove own second factor': EVERYBODY,
	'add own passkey': EVERYBODY,
	'rename own passkey': EVERYBODY,
	'remove own passkey': EVERYBODY,
	'end own session': EVERYBODY,
	'make own token': EVERYBODY,
	'end own token': EVERYBODY,
	'make own calendar': EVERYBODY,
	'end own calendar': EVERYBODY,
	'set up owner': [],
	'invite person': [],
	'withdraw invitation': [],
	'change role': [],
	'end account': [],
	'restore account': [],
	'end sessions': [],
	'end token': [],

	'create lot': ['operations'],
	'change expected day': ['operations'],
	'record received': ['operations', 'roasting'],
	'record sold green': ['operations'],
	'record written off': ['operations', 'roasting'],
	'record count difference': ['operations', 'roasting'],
	'record measurement': ['operations', 'roasting', 'quality'],
	'record price terms': ['operations', 'finance'],
	'record invoice': ['operations', 'finance'],
	'close period': ['operations', 'finance'],

	'open an intake': ['operations', 'roasting', 'quality'],
	'add a log file': ['operations', 'roasting', 'quality'],
	'describe a log file': ['operations', 'roasting', 'quality'],
	'correct how a log is read': ['operations', 'roasting', 'quality'],
	'set a log file aside': ['operations', 'roasting', 'quality'],
	'take in log files': ['operations', 'roasting', 'quality'],
	'start live log': ['operations', 'roasting', 'quality'],
	'finish live log': ['operations', 'roasting', 'quality'],
	'drop live log': ['operations', 'roasting', 'quality'],
	'record sample': ['operations', 'roasting', 'quality'],
	'read logs anew': ['operations', 'roasting', 'quality'],

	'plan test': ['operations', 'roasting', 'quality'],
	'withdraw test': ['operations', 'roasting', 'quality'],
	'record test roast': ['operations', 'roasting'],
	'record cupping': ['operations', 'roasting', 'quality'],
	'open cupping session': ['operations', 'roasting', 'quality'],
	'score a cup': ['operations', 'roasting', 'quality'],
	'look at a cupping key': ['operations', 'roasting', 'quality'],
	'close cupping session': ['operations', 'roasting', 'quality'],
	'give verdict': ['operations', 'roasting', 'quality'],
	'add a log to a test roast': ['operations', 'roasting', 'quality'],
	'add a log to a production batch': ['operations', 'roasting', 'quality'],
	'record colour': ['operations', 'roasting', 'quality'],
	'revise recipe': ['operations', 'roasting', 'quality'],
	'record recovery': ['operations', 'roasting', 'finance'],
	'read meters': ['operations', 'roasting', 'finance'],
	'release lot': ['operations', 'roasting', 'quality'],
	're-open lot': ['operations', 'roasting', 'quality'],
	'reject lot': ['operations', 'roasting', 'quality'],

	'plan week': ['operations', 'roasting'],
	'search week plan': ['operations', 'roasting'],
	'stop week plan search': ['operations', 'roasting'],
	'keep found week plan': ['operations', 'roasting'],
	'drop found week plan': ['operations', 'roasting'],
	'lock slot': ['operations', 'roasting'],
	'unlock slot': ['operations', 'roasting'],
	'move slot': ['operations', 'roasting'],
	'undo week change': ['operations', 'roasting'],
	'copy last week': ['operations', 'roasting'],
	'keep a what-if': ['operations', 'roasting'],
	'record a slot': ['operations', 'roasting'],
	'record production': ['operations', 'roasting'],
	'save demand': ['operations'],

	'save site': ['operations'],
	'save supplier': ['operations', 'finance'],
	'save roaster': ['operations', 'roasting'],
	'save log settings': ['operations', 'roasting'],
	'save shifts': ['operations', 'roasting'],
	'save plan settings': ['operations'],
	'save breaks': ['operations', 'roasting'],
	'save profiling hours': ['operations', 'roasting'],
	'save closures': ['operations', 'roasting'],
	'save hours of days': ['operations', 'roasting'],
	'save what runs where': ['operations', 'roasting'],
	'save cost rate': ['operations', 'finance'],
	'save exchange rate': ['operations', 'finance'],
	'save testing budget': ['operations', 'finance'],
	'save journal accounts': ['finance'],
	'save product': ['operations', 'finance'],
	'save blend': ['operations'],
	'import tables': ['operations'],
	'make backup': [],
	'download backup': []
} as const satisfies Readonly<Record<string, readonly Exclude<Role, 'owner'>[]>>;

/** Acts on accounts: they leave every record of the roastery as it is. */
const ON_ACCOUNTS: readonly string[] = [
	'sign in',
	'sign out',
	'accept invitation',
	'change own password',
	'set up own second factor',
	'remove own second factor',
	'add own passkey',
	'rename own passkey',
	'remove own passkey',
	'end own session',
	'make own token',
	'end own token',
	'make own calendar',
	'end own calendar',
	'set up owner',
	'invite person',
	'withdraw invitation',
	'change role',
	'end account',
	'restore account',
	'end sessions',
	'end token'
] satisfies ActName[];

/** Whether an act, by its name in the audit, is on an account alone. */
export function isOnAccount(act: string): boolean {
	return ON_ACCOUNTS.includes(act);
}

/** The name of an act, as it stands in the audit. */
export type ActName = keyof typeof ACTS;

/** Every act, in the order of the table. */
export const ACT_NAMES = Object.keys(ACTS) as readonly ActName[];

/** On files that lie in an intake and on logs under way: nothing of a lot is on record yet. */
export const INTAKE_ACTS: readonly ActName[] = [
	'open an intake',
	'add a log file',
	'describe a log file',
	'correct how a log is read',
	'set a log file aside',
	'start live log',
	'finish live log',
	'drop live log'
];

/** What a token that records logs may do. */
const LOG_ACTS: readonly string[] = [
	'open an intake',
	'add a log file',
	'describe a log file',
	'take in log files',
	'start live log',
	'finish live log',
	'drop live log',
	'record sample',
	'record test roast',
	'add a log to a test roast',
	'add a log to a production batch'
];

/** Whether a role may do an act. Throws for an act that has no line in the table (rule 3). */
export function mayAct(role: Role, act: ActName): boolean {
	const line: readonly Role[] | undefined = Object.hasOwn(ACTS, act) ? ACTS[act] : undefined;
	if (!line)
		throw new Error(
			`The act '${act}' has no line in the table of rights: add it to ACTS in src/lib/domain/access/rights.ts.`
		);
	return role === 'owner' || line.includes(role);
}

/** Whether this actor may do an act: the role, narrowed by a token's scope (rule 4). */
export function actorMay({ role, scope }: Pick<Actor, 'role' | 'scope'>, act: ActName): boolean {
	return mayAct(role, act) && scopeAllows(scope, act);
}

function scopeAllows(scope: Scope | undefined, act: ActName): boolean {
	if (scope === 'read') return false;
	return scope !== 'record logs' || LOG_ACTS.includes(act);
}

/** Why an act is refused, for a person. */
export function actRefusal({ role, scope }: Pick<Actor, 'role' | 'scope'>, act: ActName): string {
	if (mayAct(role, act))
		return `A token for '${scope}' may not do this (${act}); nothing was changed.`;
	const others: readonly Role[] = ACTS[act];
	return `Your role is ${role}; this (${act}) is done by ${listed(['owner', ...others])}. Nothing was changed.`;
}

/** `owner, operations or finance`. */
function listed(roles: readonly Role[]): string {
	return new Intl.ListFormat('en-GB', { type: 'disjunction' }).format(roles);
}
