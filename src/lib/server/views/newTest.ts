import type { InstantMs } from '#lib/domain/quantity/time.ts';
import {
	PROPOSAL_KINDS,
	type KeptProposal,
	type ProposalKind
} from '#lib/domain/trial/proposal.ts';
import type { ControlStep, TestSettings } from '#lib/domain/trial/settings.ts';
import type { Reader } from '../db/client.ts';
import { loadLots, type Lot } from '../store/lots.ts';
import { loadRoasters, type Roaster } from '../store/site.ts';
import { loadRecipes, loadTests, type TestRecord } from '../store/tests.ts';
import { findNextRoast, type NextRoast } from './next.ts';
import { loadRoastery, type LotFacts } from './roastery.ts';
import { changesFrom, type Plan } from './test.ts';
import { dueOf, testHref, type Due } from './tests.ts';

/** Where settings to start from were taken. */
export interface StartingPoint {
	/** As the fields of the form take them. */
	readonly fields: Readonly<Record<string, string>>;
	/** One sentence. */
	readonly from: string;
	readonly href: string | null;
}

export interface NewTestPage {
	/** Lots that a test can be planned for. */
	readonly lots: readonly {
		readonly code: string;
		readonly name: string;
		readonly stage: string;
	}[];
	readonly roasters: readonly {
		readonly code: string;
		readonly name: string;
		readonly minChargeG: number;
		readonly maxChargeG: number;
	}[];
	/** Null until a lot is chosen. */
	readonly lot: {
		readonly code: string;
		readonly name: string;
		readonly stage: string;
		readonly because: string;
		readonly onHandG: number;
		readonly due: Due;
		readonly start: StartingPoint;
		readonly next: NextRoast;
		/** The proposal that the form is filled from; null where it is none. */
		readonly use: ProposalKind | null;
		readonly last: {
			readonly number: number;
			readonly href: string;
			readonly roasted: boolean;
			readonly verdict: string | null;
			readonly reason: string | null;
		} | null;
	} | null;
}

/** Stages in which a test can be planned, as the act itself asks. */
const PLANNABLE: ReadonlySet<string> = new Set([
	'arrived',
	'sample roasted',
	'queued for test',
	'in test',
	'in review'
]);

/** What the address of the page asks for; blank asks for nothing. */
export interface NewTestAsked {
	readonly lot: string;
	/** Lot to be led along. */
	readonly reference?: string;
	/** Proposal to fill the form from. */
	readonly use?: string;
}

/** What the form for the next test of a lot starts from. An unknown code chooses no lot. */
export async function loadNewTest(
	db: Reader,
	now: InstantMs,
	{ lot: lotCode, reference = '', use = '' }: NewTestAsked
): Promise<NewTestPage> {
	const [roastery, roasters] = await Promise.all([loadRoastery(db, now), loadRoasters(db)]);
	const able = roastery.lots.filter(({ standing }) => PLANNABLE.has(standing.stage));
	const facts = able.find(({ lot }) => lot.code === lotCode);
	return {
		lots: able.map(({ lot, standing }) => ({
			code: lot.code,
			name: lot.name,
			stage: standing.stage
		})),
		roasters: roasters.map(({ code, name, minChargeG, maxChargeG }) => ({
			code,
			name,
			minChargeG,
			maxChargeG
		})),
		lot: facts
			? await chosen(
					db,
					facts,
					dueOf(facts, roastery.today),
					{ lots: roastery.lots.map(({ lot }) => lot), roasters },
					{ reference, use }
				)
			: null
	};
}

interface Known {
	readonly lots: readonly Lot[];
	readonly roasters: readonly Roaster[];
}

async function chosen(
	db: Reader,
	{ lot, standing, events }: LotFacts,
	due: Due,
	known: Known,
	asked: { readonly reference: string; readonly use: string }
): Promise<NewTestPage['lot']> {
	const found = await findNextRoast(db, lot, known, asked.reference);
	const use = PROPOSAL_KINDS.find((kind) => kind === asked.use && found.proposals[kind]) ?? null;
	const last = (await loadTests(db, { lotId: lot.id })).at(-1);
	return {
		code: lot.code,
		name: lot.name,
		stage: standing.stage,
		because: standing.because,
		onHandG: events.onHandG,
		due,
		start: use
			? fromProposal(found.proposals[use]!, found.roasters[use]!)
			: last
				? fromTest(last, known.roasters)
				: await fromReplaced(db, lot, known),
		next: found.view,
		use,
		last: last
			? {
					number: last.batch.number,
					href: testHref(lot.code, last.batch.number),
					roasted: last.roast !== null,
					verdict: last.verdict?.verdict ?? null,
					reason: last.verdict?.reason ?? null
				}
			: null
	};
}

function fromProposal(
	{ kind, settings, reason, heat }: KeptProposal,
	roaster: Roaster
): StartingPoint {
	const purpose = heat
		? `Follow the bean curve of ${heat.referenceLot}`
		: 'Try the one change that is advised';
	return {
		fields: { ...settingFields(roaster.code, settings), purpose },
		from: `The settings are those of the proposal above (${kind}): ${reason} Accept them or edit them.`,
		href: '#next'
	};
}

function fromTest({ batch, lotCode }: TestRecord, roasters: readonly Roaster[]): StartingPoint {
	const code = roasters.find(({ id }) => id === batch.roasterId)?.code ?? '';
	return {
		fields: settingFields(code, batch.settings),
		from: `The settings are those of test ${batch.number}. Change one of them.`,
		href: testHref(lotCode, batch.number)
	};
}

/** The newest recipe of the lot that this one takes over from, else nothing. */
async function fromReplaced(
	db: Reader,
	{ replacesLotId }: Lot,
	{ lots, roasters }: Known
): Promise<StartingPoint> {
	const before = lots.find(({ id }) => id === replacesLotId);
	const recipe = before ? (await loadRecipes(db, before.id))[0] : undefined;
	const roaster = roasters.find(({ id }) => id === recipe?.roasterId);
	if (!before || !recipe || !roaster)
		return {
			fields: {},
			from: before
				? `Nothing to start from: the lot has no test yet, and ${before.code}, which it replaces, has no recipe.`
				: 'Nothing to start from: the lot has no test yet and replaces no other.',
			href: before ? `/lots/${encodeURIComponent(before.code)}` : null
		};
	return {
		fields: settingFields(roaster.code, recipe.settings),
		from: `The settings are those of recipe ${recipe.version} of ${before.code}, which this lot replaces, on ${roaster.name}. On another roaster they do not hold.`,
		href: `/lots/${encodeURIComponent(before.code)}`
	};
}

function settingFields(roaster: string, settings: TestSettings): Record<string, string> {
	return {
		roaster,
		charge_kg: String(settings.chargeG / 1000),
		start_c: String(settings.startC),
		soak_s: String(settings.soakS),
		gas_steps: stepFields(settings.gasSteps),
		air_steps: stepFields(settings.airSteps),
		drum_rpm: String(settings.drumRpm)
	};
}

/** Steps as they are typed, `0:00 60; 4:30 75`. */
export function stepFields(steps: readonly ControlStep[]): string {
	return steps
		.map(({ atS, pct }) => {
			const seconds = Math.round(atS);
			return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')} ${pct}`;
		})
		.join('; ');
}

/** What would change against the lot's last test; null when the lot has none. */
export async function changesAgainstLast(
	db: Reader,
	lotId: number,
	plan: Plan
): Promise<{ readonly number: number; readonly changes: readonly string[] } | null> {
	const last = (await loadTests(db, { lotId })).at(-1);
	return last ? { number: last.batch.number, changes: changesFrom(last, plan) } : null;
}

/** The proposal of that kind as it is made now, to be kept with the test planned from it. */
export async function proposalNow(
	db: Reader,
	lot: Lot,
	kind: string,
	reference: string
): Promise<KeptProposal | undefined> {
	const asked = PROPOSAL_KINDS.find((one) => one === kind);
	if (asked === undefined) return undefined;
	const [lots, roasters] = await Promise.all([loadLots(db), loadRoasters(db)]);
	return (await findNextRoast(db, lot, { lots, roasters }, reference)).proposals[asked];
}
