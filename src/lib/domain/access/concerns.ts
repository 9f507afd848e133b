import { INTAKE_ACTS, isOnAccount } from './rights.ts';

/**
 * Which pages an act may have changed, so that whoever has one open can be told. Rules:
 * 1. An address stands for itself and all below it; `/` for the overview alone.
 * 2. An act on one lot concerns the pages of that lot and the lists, no other lot's.
 * 3. An act that no line names concerns every page of the roastery.
 * 4. The audit shows every act.
 */
const BY_LOT = ['/lots', '/samples', '/tests'];
const SETTINGS = ['/', '/setup', '/week', '/floor', '/demand', '/cost'];
const ROASTERY = ['/', ...BY_LOT, '/cuppings', '/week', '/floor', '/stock', '/demand', '/cost'];

const LINES: readonly (readonly [addresses: readonly string[], acts: readonly string[]])[] = [
	[['/setup/backup'], ['make backup', 'download backup']],
	[['/cuppings'], ['open cupping session', 'score a cup', 'look at a cupping key']],
	[['/intake'], INTAKE_ACTS],
	[
		['/', '/week', '/floor', ...BY_LOT],
		[
			'plan week',
			'keep found week plan',
			'lock slot',
			'unlock slot',
			'move slot',
			'undo week change',
			'copy last week',
			'keep a what-if'
		]
	],
	[['/week'], ['search week plan', 'stop week plan search', 'drop found week plan']]
];

/** Addresses that an act may have changed, the code of its lot where it has one (rules 2 to 4). */
export function concernsOf(act: string, lot: string | null): readonly string[] {
	const places = placesOf(act).map((place) =>
		lot !== null && BY_LOT.includes(place) ? `${place}/${lot}` : place
	);
	return [...places, '/audit'];
}

function placesOf(act: string): readonly string[] {
	if (isOnAccount(act)) return ['/setup/people', '/me'];
	const line = LINES.find(([, acts]) => acts.includes(act));
	if (line) return line[0];
	return act.startsWith('save ') ? SETTINGS : ROASTERY;
}

/** Whether a page is among what changed (rule 1). */
export function isConcerned(path: string, addresses: readonly string[]): boolean {
	if (path === '/') return addresses.includes('/');
	return addresses.some(
		(address) => address !== '/' && (isWithin(path, address) || isWithin(address, path))
	);
}

const isWithin = (path: string, place: string) => path === place || path.startsWith(`${place}/`);
