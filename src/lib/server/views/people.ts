import type { Role, Scope } from '#lib/domain/access/role.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { isLive, sessionEndsAt } from '../auth/lifetimes.ts';
import { qrPicture, type QrPicture } from '../auth/qrPicture.ts';
import { totpAddress } from '../auth/secondFactor.ts';
import { hashOf } from '../auth/secret.ts';
import type { Reader } from '../db/client.ts';
import {
	countRecoveryCodes,
	findInvitation,
	findUserById,
	loadOpenInvitations,
	loadOpenSessions,
	loadPasskeys,
	loadTokens,
	loadUsers,
	type ApiToken,
	type Passkey,
	type Session
} from '../store/people.ts';
import { requireSite } from '../store/site.ts';
import { momentOf, type Moment } from './moment.ts';

export interface SessionRow {
	readonly id: number;
	/** What the browser said of itself, in short. */
	readonly browser: string;
	readonly since: Moment;
	readonly seen: Moment;
	/** When it ends by itself unless it is used. */
	readonly ends: Moment;
}

export interface TokenRow {
	readonly id: number;
	readonly name: string;
	readonly scope: Scope;
	readonly since: Moment;
	readonly ends: Moment;
	readonly seen: Moment | null;
}

export interface PasskeyRow {
	readonly id: number;
	readonly name: string;
	readonly since: Moment;
	readonly seen: Moment | null;
}

export interface PersonRow {
	readonly id: number;
	readonly name: string;
	readonly login: string;
	readonly role: Role;
	readonly hasSecondFactor: boolean;
	readonly isEnded: boolean;
	readonly sessions: number;
	/** Last use of any session; null where there is none. */
	readonly seen: Moment | null;
	readonly tokens: readonly TokenRow[];
}

export interface PeoplePage {
	readonly people: readonly PersonRow[];
	readonly invitations: readonly {
		readonly id: number;
		readonly name: string;
		readonly role: Role;
		readonly by: string;
		readonly ends: Moment;
		readonly isBack: boolean;
	}[];
}

/** Everybody with an account or an invitation. */
export async function loadPeoplePage(db: Reader, now: InstantMs): Promise<PeoplePage> {
	const [{ timeZone }, users, sessions, tokens, invitations] = await Promise.all([
		requireSite(db),
		loadUsers(db),
		loadOpenSessions(db),
		loadTokens(db, now),
		loadOpenInvitations(db, now)
	]);
	const people = users.map((user) => {
		const live = sessions.filter((each) => each.userId === user.id && isLive(each, now));
		return {
			...{ id: user.id, name: user.name, login: user.login, role: user.role },
			hasSecondFactor: user.totpSecret !== null,
			isEnded: user.endedAt !== null,
			sessions: live.length,
			seen: live[0] ? momentOf(live[0].seenAt, timeZone) : null,
			tokens: tokens
				.filter((each) => each.userId === user.id)
				.map((each) => tokenRow(each, timeZone))
		};
	});
	return {
		people,
		invitations: invitations.map(({ id, name, role, by, expiresAt, userId }) => ({
			...{ id, name, role, by, isBack: userId !== null },
			ends: momentOf(expiresAt, timeZone)
		}))
	};
}

export interface OwnPage {
	readonly name: string;
	readonly login: string;
	readonly role: Role;
	readonly secondFactor: 'none' | 'shown' | 'in use';
	/** Secret to type into an app, and its address, while it is shown and not yet proved. */
	readonly pending: {
		readonly secret: string;
		readonly address: string;
		/** Its address as a telephone reads it. */
		readonly picture: QrPicture;
	} | null;
	readonly recoveryCodesLeft: number;
	readonly sessions: readonly (SessionRow & { readonly isThis: boolean })[];
	readonly tokens: readonly TokenRow[];
	readonly passkeys: readonly PasskeyRow[];
}

/** The own account; null for whoever has none. */
export async function loadOwnPage(
	db: Reader,
	now: InstantMs,
	userId: number,
	sessionId: number | null
): Promise<OwnPage | null> {
	const [{ timeZone }, user, sessions, tokens, recoveryCodesLeft, passkeys] = await Promise.all([
		requireSite(db),
		findUserById(db, userId),
		loadOpenSessions(db, userId),
		loadTokens(db, now, userId),
		countRecoveryCodes(db, userId),
		loadPasskeys(db, userId)
	]);
	if (!user) return null;
	const { name, login, role, totpPending, totpSecret } = user;
	return {
		...{ name, login, role, recoveryCodesLeft },
		secondFactor: totpSecret !== null ? 'in use' : totpPending !== null ? 'shown' : 'none',
		pending: totpPending === null ? null : pendingOf(totpPending, login),
		sessions: sessions
			.filter((each) => isLive(each, now))
			.map((each) => ({ ...sessionRow(each, timeZone), isThis: each.id === sessionId })),
		tokens: tokens.map((each) => tokenRow(each, timeZone)),
		passkeys: passkeys.map((each) => passkeyRow(each, timeZone))
	};
}

function passkeyRow({ id, name, createdAt, seenAt }: Passkey, zone: string): PasskeyRow {
	return {
		...{ id, name },
		since: momentOf(createdAt, zone),
		seen: seenAt === null ? null : momentOf(seenAt, zone)
	};
}

function pendingOf(secret: string, login: string) {
	const address = totpAddress(secret, login);
	return { secret: secret.replace(/(.{4})(?=.)/g, '$1 '), address, picture: qrPicture(address) };
}

function sessionRow(session: Session, zone: string): SessionRow {
	return {
		id: session.id,
		browser: browserInShort(session.browser),
		since: momentOf(session.createdAt, zone),
		seen: momentOf(session.seenAt, zone),
		ends: momentOf(sessionEndsAt(session), zone)
	};
}

function tokenRow({ id, name, scope, createdAt, expiresAt, seenAt }: ApiToken, zone: string) {
	return {
		...{ id, name, scope },
		since: momentOf(createdAt, zone),
		ends: momentOf(expiresAt, zone),
		seen: seenAt === null ? null : momentOf(seenAt, zone)
	};
}

const BROWSERS = ['Edg', 'OPR', 'Firefox', 'Chrome', 'Safari'] as const;
const SYSTEMS = ['iPhone', 'iPad', 'Android', 'Windows', 'Mac OS', 'CrOS', 'Linux'] as const;

/** `Firefox on Windows`; what is not known is said to be. */
function browserInShort(text: string): string {
	const browser = BROWSERS.find((name) => text.includes(`${name}/`)) ?? 'A browser';
	const system = SYSTEMS.find((name) => text.includes(name));
	const named = browser === 'Edg' ? 'Edge' : browser === 'OPR' ? 'Opera' : browser;
	return system ? `${named} on ${system}` : named;
}

export interface InvitationPage {
	readonly name: string;
	readonly role: Role;
	readonly by: string;
	readonly isBack: boolean;
}

/** What a link is for, or null where it can't be used. */
export async function loadInvitation(
	db: Reader,
	now: InstantMs,
	secret: string
): Promise<InvitationPage | null> {
	const found = await findInvitation(db, hashOf(secret));
	if (!found || found.usedAt || found.withdrawnAt || now >= found.expiresAt) return null;
	const { name, role, by, userId } = found;
	return { name, role, by, isBack: userId !== null };
}
