import { ROLES, type Role } from './role.ts';

/**
 * The one table of who may open what. Rules:
 * 1. A place is the beginning of an address, by whole parts; the longest that fits counts.
 * 2. Every folder of src/routes is in a place: a page in none is opened by nobody.
 * 3. `open` places answer without sign-in, because they are the way in or prove who asks themselves.
 * 4. The owner may open everything; a line names the others.
 */
const READERS = ['operations', 'roasting', 'quality', 'finance', 'viewer'] as const;
const TESTERS = ['operations', 'roasting', 'quality'] as const;

type Line = readonly Exclude<Role, 'owner'>[] | 'open';

const PLACES: Readonly<Record<string, Line>> = {
	'/': READERS,
	'/lots': READERS,
	'/lots/new': ['operations'],
	'/samples': READERS,
	'/readings': READERS,
	'/intake': TESTERS,
	'/tests': READERS,
	'/tests/new': TESTERS,
	'/cuppings': READERS,
	'/cuppings/new': TESTERS,
	'/week': READERS,
	'/floor': READERS,
	'/demand': READERS,
	'/cost': READERS,
	'/stock': READERS,
	'/stock/close': ['operations', 'finance'],
	'/papers': READERS,
	'/export': ['operations', 'roasting', 'quality', 'finance'],
	'/setup': ['operations', 'roasting', 'finance'],
	'/setup/site': ['operations'],
	'/setup/roasters': ['operations', 'roasting', 'finance'],
	'/setup/plan': ['operations', 'roasting'],
	'/setup/products': ['operations', 'finance'],
	'/setup/suppliers': ['operations', 'finance'],
	'/setup/orders': ['operations'],
	'/setup/rates': ['operations', 'finance'],
	'/setup/tables': ['operations'],
	'/setup/people': [],
	'/setup/backup': [],
	'/audit': ['operations', 'roasting', 'quality', 'finance'],
	'/me': READERS,
	'/refused': READERS,
	'/live': READERS,
	'/api': READERS,
	'/sign-in': 'open',
	'/invitation': 'open',
	'/calendar': 'open',
	'/welcome': 'open',
	'/healthz': 'open'
};

/** Every place, in the order of the table. */
export const PLACE_NAMES: readonly string[] = Object.keys(PLACES);

/** The place that an address lies in, e.g. `/setup/site` or `/lots` of `/lots/HR-151`; null in none. */
export function placeOf(path: string): string | null {
	const parts = path.split('/').filter((part) => part !== '');
	for (let n = parts.length; n > 0; n--) {
		const place = `/${parts.slice(0, n).join('/')}`;
		if (Object.hasOwn(PLACES, place)) return place;
	}
	return parts.length === 0 ? '/' : null;
}

/** Whether an address answers without sign-in (rule 3). */
export function isOpen(path: string): boolean {
	const place = placeOf(path);
	return place !== null && PLACES[place] === 'open';
}

/** Whether a role may open an address (rules 1, 2 and 4). */
export function mayOpen(role: Role, path: string): boolean {
	const place = placeOf(path);
	if (place === null) return false;
	const line = PLACES[place]!;
	return line === 'open' || role === 'owner' || line.some((each) => each === role);
}

/** Who may open an address, for whoever may not. */
export function openedBy(path: string): readonly Role[] {
	return ROLES.filter((role) => mayOpen(role, path));
}
