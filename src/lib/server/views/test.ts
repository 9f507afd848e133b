import { netWords, workedLines } from '#lib/domain/cost/batch.ts';
import type { Stage, Verdict } from '#lib/domain/lot/lot.ts';
import { formatKg } from '#lib/domain/quantity/mass.ts';
import type { Money } from '#lib/domain/quantity/money.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import type { CuppingForm } from '#lib/domain/trial/cupping.ts';
import {
	changeText,
	settingChanges,
	stepsText,
	type TestSettings
} from '#lib/domain/trial/settings.ts';
import { panelResults, type PanelResult } from '#lib/domain/trial/panel.ts';
import { applyRule, type RuleOutcome } from '#lib/domain/trial/verdictRule.ts';
import type { Reader } from '../db/client.ts';
import { loadOpenSessionsOf } from '../store/cuppings.ts';
import { findRuleOf, type HeldRule } from '../store/verdictRules.ts';
import { sessionHref } from './cupping/coffee.ts';
import { loadTestColours, type Colour } from '../store/drum.ts';
import { loadTestSlots } from '../store/production.ts';
import {
	loadProposal,
	loadRecipes,
	loadTests,
	type ProposalRow,
	type TestRecord
} from '../store/tests.ts';
import type { Site } from '../store/site.ts';
import {
	loadCosting,
	loadNormalLosses,
	testLoss,
	type BatchLoss,
	type NormalLossOf
} from './costing.ts';
import { colourText, loadDrumView, type DrumView } from './drum.ts';
import { inputTime, momentOf, type Moment } from './moment.ts';
import { nextHref } from './places.ts';
import { loadRoastery } from './roastery.ts';
import {
	dueOf,
	scoredOf,
	slotOf,
	testHref,
	testState,
	waitsFor,
	type Due,
	type PlannedSlot,
	type Scored,
	type TestState
} from './tests.ts';

export interface SettingLine {
	readonly term: string;
	readonly value: string;
	/** Against the test before: what differs; null where nothing does or there is none. */
	readonly difference: string | null;
}

export interface AgainstBefore {
	readonly number: number;
	readonly href: string;
	/** One phrase for each setting that differs, computed from both records. */
	readonly changes: readonly string[];
}

export interface CuppingView extends Scored {
	readonly key: number;
	readonly at: Moment;
	readonly sheet: CuppingForm;
	readonly descriptors: string;
	readonly note: string;
	/** Null for a sheet of its own. */
	readonly session: {
		readonly name: string;
		readonly href: string;
		readonly wasBlind: boolean;
	} | null;
}

/** What the product's rule says of the test, before a person decides. */
export interface RuleView extends RuleOutcome {
	readonly product: string;
	readonly productHref: string;
	/** It holds for verdicts from then on. */
	readonly set: Moment;
}

export interface CostView {
	readonly lines: readonly {
		readonly label: string;
		readonly money: Money;
		readonly howWorked: string;
	}[];
	readonly cost: Money;
	readonly recovered: Money;
	readonly net: Money;
	readonly howWorked: string;
	readonly loss: BatchLoss;
}

export interface RecoveryView {
	readonly key: number;
	readonly at: Moment;
	readonly by: string;
	readonly kind: string;
	readonly massG: number;
	readonly value: Money;
	readonly product: string | null;
}

export interface TestPage {
	readonly lotCode: string;
	readonly lotName: string;
	readonly lotStage: Stage;
	readonly lotBecause: string;
	readonly number: number;
	readonly state: TestState;
	readonly purpose: string;
	readonly change: string;
	readonly roasterName: string;
	readonly due: Due;
	readonly slot: PlannedSlot | null;
	readonly waitsFor: string | null;
	readonly planned: Moment & { readonly by: string };
	readonly settings: readonly SettingLine[];
	readonly plannedChargeG: number;
	/** Null for the first test of a lot. */
	readonly before: AgainstBefore | null;
	readonly after: { readonly number: number; readonly href: string } | null;
	readonly roast:
		| (Moment & {
				readonly by: string;
				readonly chargeG: number;
				readonly outG: number;
				readonly weightLoss: number;
				readonly note: string;
		  })
		| null;
	readonly drum: DrumView | null;
	readonly cuppings: readonly CuppingView[];
	/** What the cuppers found, form by form. */
	readonly results: readonly PanelResult[];
	/** Open sessions that have it on the table. */
	readonly onTable: readonly { readonly name: string; readonly href: string }[];
	/** Key of this test in the form of a new session. */
	readonly sessionKey: string;
	/** Null where the lot's product asks for nothing. */
	readonly rule: RuleView | null;
	readonly verdict:
		| (Moment & {
				readonly verdict: Verdict;
				readonly reason: string;
				readonly by: string;
				readonly againstReason: string | null;
		  })
		| null;
	/** Version of the recipe that this test became. */
	readonly recipeVersion: number | null;
	/** Where the lot is released, once this test's approval is what it waits for. */
	readonly releaseHref: string | null;
	readonly cost: CostView | null;
	/** Why there is no cost. */
	readonly uncosted: string | null;
	readonly recoveries: readonly RecoveryView[];
	/** Roasted grams whose use is not recorded. */
	readonly unaccountedG: number;
	readonly currency: string;
	readonly products: readonly { readonly code: string; readonly name: string }[];
	/** What its form was filled from; null where it came from no proposal. */
	readonly proposal: ProposalView | null;
	readonly colour: (Moment & { readonly text: string; readonly by: string }) | null;
	/** Name of the colour scale that was used last, for the form. */
	readonly usualScale: string;
	/** Now, as a date and time input takes it. */
	readonly nowInput: string;
	/** The cupping form used last on this lot. */
	readonly usualForm: '2004' | '2024';
}

/** A kept proposal for the page. */
export interface ProposalView {
	readonly reason: string;
	readonly confirmedBy: string;
	/** The person planned something else than was proposed. */
	readonly edited: boolean;
	readonly at: Moment;
	readonly by: string;
	/** Expected off the reference's bean curve, C; null for a single change. */
	readonly expectedC: number | null;
}

function proposalView({ proposal, edited, at, by }: ProposalRow, zone: string): ProposalView {
	const { reason, confirmedBy, heat } = proposal;
	const when = momentOf(at, zone);
	return { reason, confirmedBy, edited, at: when, by, expectedC: heat?.expectedC ?? null };
}

/** Everything about one test, or null when the lot has no such test in its records. */
export async function loadTestPage(
	db: Reader,
	now: InstantMs,
	lotCode: string,
	number: number
): Promise<TestPage | null> {
	const roastery = await loadRoastery(db, now);
	const facts = roastery.lots.find(({ lot }) => lot.code === lotCode);
	if (!facts) return null;
	const { site } = roastery;
	const ofLot = await loadTests(db, { lotId: facts.lot.id });
	const at = ofLot.findIndex(({ batch }) => batch.number === number);
	const test = ofLot[at];
	if (!test) return null;
	const [slots, recipes, drum, costing, lossOf, held, open, proposal] = await Promise.all([
		loadTestSlots(db, now),
		loadRecipes(db, facts.lot.id),
		loadTestDrum(db, test, site.timeZone),
		loadCosting(db, site, facts.lot.id),
		loadNormalLosses(db),
		findRuleOf(db, facts.lot.id),
		loadOpenSessionsOf(db, { testBatchId: test.batch.id }),
		loadProposal(db, test.batch.id)
	]);
	const zone = site.timeZone;
	const cuppings = test.cuppings.map((one) => ({
		...scoredOf(one.sheet, one.by),
		key: one.id,
		at: momentOf(one.cuppedAt, zone),
		sheet: one.sheet,
		descriptors: one.descriptors,
		note: one.note,
		session: one.session && {
			...{ name: one.session.name, wasBlind: one.session.wasBlind },
			href: sessionHref(one.session.id)
		}
	}));
	const results = panelResults(test.cuppings);
	const lastSheet = ofLot.flatMap((each) => each.cuppings).at(-1)?.sheet;
	const before = ofLot[at - 1];
	const after = ofLot[at + 1];
	return {
		lotCode,
		lotName: facts.lot.name,
		lotStage: facts.standing.stage,
		lotBecause: facts.standing.because,
		number,
		state: testState(test),
		purpose: test.batch.purpose,
		proposal: proposal && proposalView(proposal, zone),
		change: test.batch.change,
		roasterName: test.roasterName,
		due: dueOf(facts, roastery.today),
		slot: slotOf(slots.get(test.batch.id), zone),
		waitsFor: test.roast ? null : waitsFor(test, ofLot, facts),
		planned: { ...momentOf(test.batch.plannedAt, zone), by: test.batch.plannedBy },
		settings: settingLines(test, before),
		plannedChargeG: test.batch.settings.chargeG,
		before: before
			? {
					number: before.batch.number,
					href: testHref(lotCode, before.batch.number),
					changes: changesFrom(before, {
						roasterName: test.roasterName,
						settings: test.batch.settings
					})
				}
			: null,
		after: after
			? { number: after.batch.number, href: testHref(lotCode, after.batch.number) }
			: null,
		roast: roastOf(test, zone),
		drum,
		...{ cuppings, results },
		onTable: open.map(({ id, name }) => ({ name, href: sessionHref(id) })),
		sessionKey: `test-${test.batch.id}`,
		rule: ruleView(held, results, zone),
		verdict: test.verdict
			? {
					...momentOf(test.verdict.at, zone),
					verdict: test.verdict.verdict as Verdict,
					reason: test.verdict.reason,
					by: test.verdict.by,
					againstReason: test.verdict.againstReason
				}
			: null,
		recipeVersion: recipes.find((r) => r.testBatchId === test.batch.id)?.version ?? null,
		releaseHref:
			facts.standing.stage === 'in review' && test.verdict?.verdict === 'approve'
				? nextHref(lotCode, { kind: 'release', test: number })
				: null,
		...costOf(test, costing, lossOf),
		...recoveriesOf(test, site, roastery.products),
		currency: site.currency,
		products: roastery.products.map(({ code, name }) => ({ code, name })),
		nowInput: inputTime(now, zone),
		...colourOf(await loadTestColours(db), test.batch.id, zone),
		usualForm: lastSheet?.form === 'affective' ? '2024' : '2004'
	};
}

function ruleView(
	held: HeldRule | null,
	results: readonly PanelResult[],
	zone: string
): RuleView | null {
	if (!held) return null;
	return {
		...applyRule(held.rule, results),
		product: held.productName,
		productHref: `/setup/products/${encodeURIComponent(held.product)}`,
		set: momentOf(held.setAt, zone)
	};
}

/** A test as planned: what its settings are compared by. */
export interface Plan {
	readonly roasterName: string;
	readonly settings: TestSettings;
}

/** Every difference from a test to the plan of the next, the roaster's first, as phrases. */
export function changesFrom(before: TestRecord, next: Plan): string[] {
	const roaster =
		before.roasterName === next.roasterName
			? []
			: [`Roaster ${before.roasterName} to ${next.roasterName}`];
	return [...roaster, ...settingChanges(before.batch.settings, next.settings).map(changeText)];
}

function settingLines(test: TestRecord, before: TestRecord | undefined): SettingLine[] {
	const { settings } = test.batch;
	const changes = before ? settingChanges(before.batch.settings, settings) : [];
	const line = (term: string, field: keyof TestSettings, value: string) => ({
		...{ term, value },
		difference: changes.find((change) => change.field === field)?.difference ?? null
	});
	const otherRoaster = before && before.roasterName !== test.roasterName;
	return [
		{
			...{ term: 'Roaster', value: test.roasterName },
			difference: otherRoaster ? `${before.roasterName} to ${test.roasterName}` : null
		},
		line('Charge', 'chargeG', formatKg(settings.chargeG)),
		line('Start temperature', 'startC', `${settings.startC} °C`),
		line('Soak', 'soakS', `${settings.soakS} s`),
		line('Gas', 'gasSteps', stepsText(settings.gasSteps)),
		line('Air', 'airSteps', stepsText(settings.airSteps)),
		line('Drum speed', 'drumRpm', `${settings.drumRpm} rpm`)
	];
}

function roastOf({ roast }: TestRecord, zone: string): TestPage['roast'] {
	if (!roast) return null;
	const { chargeG, outG, note, by } = roast;
	const weightLoss = (chargeG - outG) / chargeG;
	return { ...momentOf(roast.roastedAt, zone), by, chargeG, outG, weightLoss, note };
}

/** The colour value measured last, and the scale that the roastery used last. */
function colourOf(
	colours: ReadonlyMap<number, Colour>,
	testBatchId: number,
	zone: string
): Pick<TestPage, 'colour' | 'usualScale'> {
	const found = colours.get(testBatchId);
	return {
		colour: found ? { ...momentOf(found.at, zone), text: colourText(found), by: found.by } : null,
		usualScale: [...colours.values()].at(-1)?.scale ?? ''
	};
}

/** The drum log of a test, or null while it has none. */
async function loadTestDrum(
	db: Reader,
	{ batch, roast }: TestRecord,
	zone: string
): Promise<DrumView | null> {
	if (!roast) return null;
	const { chargeG, outG, logId } = roast;
	return loadDrumView(db, { roasterId: batch.roasterId, chargeG, outG, logId }, zone);
}

function costOf(
	test: TestRecord,
	{ tests, uncosted }: Awaited<ReturnType<typeof loadCosting>>,
	lossOf: NormalLossOf
): Pick<TestPage, 'cost' | 'uncosted'> {
	const found = tests.find(({ testId }) => testId === test.batch.id);
	if (found) {
		const { cost, recovered, net } = found;
		const loss = testLoss(found, lossOf);
		const worked = { lines: workedLines(found.batch), howWorked: netWords(found) };
		return { cost: { ...worked, cost, recovered, net, loss }, uncosted: null };
	}
	if (!test.roast) return { cost: null, uncosted: 'A test costs nothing before it is roasted.' };
	const path = `${test.lotCode}, test ${test.batch.number}`;
	return { cost: null, uncosted: uncosted.find((p) => p.path === path)?.message ?? null };
}

function recoveriesOf(
	{ roast, recoveries }: TestRecord,
	{ currency, timeZone }: Site,
	products: readonly { readonly id: number; readonly name: string }[]
): Pick<TestPage, 'recoveries' | 'unaccountedG'> {
	const names = new Map(products.map(({ id, name }) => [id, name]));
	const accountedG = recoveries.reduce((sum, { massG }) => sum + massG, 0);
	return {
		recoveries: recoveries.map(({ id, at, by, kind, massG, valueMinor, productId }) => ({
			key: id,
			at: momentOf(at, timeZone),
			by,
			kind,
			massG,
			value: { minor: valueMinor, currency },
			product: productId === null ? null : (names.get(productId) ?? null)
		})),
		unaccountedG: roast ? roast.outG - accountedG : 0
	};
}
