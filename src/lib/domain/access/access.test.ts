import { describe, expect, it } from 'vitest';
import { isOpen, mayOpen, openedBy, PLACE_NAMES, placeOf } from './places.ts';
import { ACT_NAMES, actorMay, actRefusal, isOnAccount, mayAct, type ActName } from './rights.ts';
import { ROLES, SCOPES, systemActor } from './role.ts';

/** That the tables are kept is tested in tests/database/rights.test.ts and tests/browser/rights.test.ts. */

/** Every pair of two lists. */
const pairs = <A, B>(as: readonly A[], bs: readonly B[]) =>
	as.flatMap((a) => bs.map((b) => [a, b] as const));

describe('who may act, role by act', () => {
	/** What everybody does with the own account. */
	const OWN = /^sign (in|out)$|\bown\b|^accept invitation$/;
	it.each(ACT_NAMES)('%s: the owner may; a viewer only what is about the own account', (act) => {
		expect(mayAct('owner', act)).toBe(true);
		expect(mayAct('viewer', act)).toBe(OWN.test(act));
	});
	it.each(ACT_NAMES.filter((act) => isOnAccount(act) && !OWN.test(act)))(
		'%s: only the owner lets people in and out',
		(act) => {
			expect(ROLES.filter((role) => mayAct(role, act))).toEqual(['owner']);
		}
	);

	/** Words in an act's name that keep a role away from it, whatever acts are added. */
	const KEPT_FROM = {
		finance:
			/\b(lot|lots|received|sold|written|count|measurement|log|logs|intake|sample|test|cupping|verdict|slot|week|production|site|shifts|roaster|demand|blend|people|person)\b/,
		quality: /\b(price|cost|product|site|shifts|blend|people|person|import)\b/,
		roasting: /\b(price|cost rate|product|site|people|person|import|create)\b/,
		operations: /\b(people|person)\b/
	} as const;
	it.each(
		pairs(Object.keys(KEPT_FROM) as (keyof typeof KEPT_FROM)[], ACT_NAMES).filter(([role, act]) =>
			KEPT_FROM[role].test(act)
		)
	)('%s may not %s', (role, act) => {
		expect(mayAct(role, act)).toBe(false);
	});

	it.each([
		['operations', 'create lot'],
		['operations', 'plan week'],
		['roasting', 'record test roast'],
		['roasting', 'plan week'],
		['quality', 'give verdict'],
		['quality', 'release lot'],
		['finance', 'record price terms'],
		['finance', 'save cost rate']
	] as const)('%s may %s, which is its work', (role, act) => {
		expect(mayAct(role, act)).toBe(true);
	});

	it('an act without a line throws and says what to add (rule 3)', () => {
		for (const name of ['grind', 'toString', '__proto__'])
			expect(() => mayAct('owner', name as ActName)).toThrow(
				`The act '${name}' has no line in the table of rights: add it to ACTS in src/lib/domain/access/rights.ts.`
			);
	});

	it('a refusal says the role, the act and who does it', () => {
		expect(actRefusal({ role: 'viewer' }, 'record price terms')).toBe(
			'Your role is viewer; this (record price terms) is done by owner, operations or finance. Nothing was changed.'
		);
		expect(actRefusal({ role: 'owner', scope: 'read' }, 'save site')).toContain("token for 'read'");
	});
});

describe('a token narrows and never widens (rule 4)', () => {
	it.each(pairs(ROLES, SCOPES))('%s with a token for %s, every act', (role, scope) => {
		for (const act of ACT_NAMES) {
			const may = actorMay({ role, scope }, act);
			if (may) expect(mayAct(role, act)).toBe(true);
			if (scope === 'read') expect(may).toBe(false);
			if (scope === 'all') expect(may).toBe(mayAct(role, act));
		}
	});
	it('one that records logs sends them in and releases nothing', () => {
		const token = { role: 'owner', scope: 'record logs' } as const;
		expect(actorMay(token, 'take in log files')).toBe(true);
		expect(actorMay(token, 'release lot')).toBe(false);
		expect(actorMay(token, 'import tables')).toBe(false);
	});
});

it('the system acts under its own name with the owner’s rights', () => {
	const actor = systemActor('import');
	expect(actor).toEqual({ userId: null, name: 'import', role: 'owner' });
	expect(ACT_NAMES.every((act) => actorMay(actor, act))).toBe(true);
});

describe('who may open what, role by place', () => {
	it.each(PLACE_NAMES)('%s: the owner may (rule 4)', (place) => {
		expect(mayOpen('owner', place)).toBe(true);
		expect(mayOpen('owner', `${place}/deeper`.replace('//', '/'))).toBe(place !== '/');
	});

	it('an address lies in the longest place that fits, by whole parts (rule 1)', () => {
		expect(placeOf('/')).toBe('/');
		expect(placeOf('/lots')).toBe('/lots');
		expect(placeOf('/lots/HR-151/samples')).toBe('/lots');
		expect(placeOf('/lots/new')).toBe('/lots/new');
		expect(placeOf('/lots/newer')).toBe('/lots');
		expect(placeOf('/lotsandlots')).toBe(null);
		expect(placeOf('/setup/site/')).toBe('/setup/site');
		expect(placeOf('/toString')).toBe(null);
	});

	it.each(ROLES)('a page in no place is opened by nobody: %s (rule 2)', (role) => {
		expect(mayOpen(role, '/nowhere')).toBe(false);
	});

	it('a viewer reads and opens no form of the set-up', () => {
		for (const place of ['/', '/lots', '/tests', '/week', '/cost'])
			expect(mayOpen('viewer', place)).toBe(true);
		for (const place of ['/setup', '/setup/site', '/lots/new', '/tests/new', '/intake', '/export'])
			expect(mayOpen('viewer', place)).toBe(false);
		expect(openedBy('/setup/site')).toEqual(['owner', 'operations']);
	});

	it('few places answer without sign-in (rule 3)', () => {
		expect(PLACE_NAMES.filter(isOpen)).toEqual([
			'/sign-in',
			'/invitation',
			'/calendar',
			'/welcome',
			'/healthz'
		]);
	});
});
