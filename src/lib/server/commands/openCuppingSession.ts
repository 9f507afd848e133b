import { and, eq, inArray, isNull } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { blindCodes, MOST_CUPS } from '#lib/domain/trial/blindCodes.ts';
import type { FormYear } from '#lib/domain/trial/panel.ts';
import {
	cuppingSession,
	lot,
	sampleRoast,
	sessionCup,
	testBatch,
	testRoast
} from '../db/schema.ts';
import { note, type Deed } from './act.ts';

/** A coffee to put on the table; the same one may be given twice, to see how well cuppers repeat. */
export type TableCoffee =
	{ readonly testBatchId: number } | { readonly sampleId: number } | { readonly reference: string };

export interface SessionInput {
	readonly name: string;
	readonly form: FormYear;
	/** Decides the codes; drawn by the caller and kept. */
	readonly seed: number;
	readonly openedAt: InstantMs;
	readonly coffees: readonly TableCoffee[];
}

/**
 * Opens a blind cupping: every coffee gets a code drawn from the seed, and what the codes stand for stays
 * hidden until it is closed.
 */
export async function openCuppingSession(
	deed: Deed,
	input: SessionInput
): Promise<Outcome<{ sessionId: number; codes: readonly string[] }>> {
	const names = await namesOf(deed, input);
	const problems = [...tableProblems(input), ...names.problems];
	if (problems.length > 0) return bad(...problems);
	const codes = blindCodes(input.seed, input.coffees.length, names.names);
	const { coffees, ...session } = { ...input, name: input.name.trim() };
	const rows = await deed.tx
		.insert(cuppingSession)
		.values({ ...session, openedBy: deed.by })
		.returning({ id: cuppingSession.id });
	const sessionId = rows[0]!.id;
	await deed.tx
		.insert(sessionCup)
		.values(coffees.map((coffee, i) => ({ ...coffee, sessionId, place: i + 1, code: codes[i]! })));
	const { name, form } = session;
	await note(deed, 'open cupping session', null, { sessionId, name, form, cups: codes.length });
	return good({ sessionId, codes });
}

function tableProblems({ name, coffees }: SessionInput): Problem[] {
	const problems: Problem[] = [];
	if (name.trim() === '') problems.push({ path: 'name', message: 'Give the session a name.' });
	if (coffees.length === 0)
		problems.push({ path: 'coffees', message: 'Put at least one test or sample on the table.' });
	if (coffees.length > MOST_CUPS)
		problems.push({
			path: 'coffees',
			message: `Found ${coffees.length} cups, expected at most ${MOST_CUPS}: open a second session.`
		});
	return problems;
}

/** Names that no code may be part of; problems for what can't be cupped. */
async function namesOf(
	{ tx }: Deed,
	{ coffees, openedAt }: SessionInput
): Promise<{ names: string[]; problems: Problem[] }> {
	const testIds = coffees.flatMap((each) => ('testBatchId' in each ? [each.testBatchId] : []));
	const sampleIds = coffees.flatMap((each) => ('sampleId' in each ? [each.sampleId] : []));
	const references = coffees.flatMap((each) => ('reference' in each ? [each.reference] : []));
	const [tests, samples] = await Promise.all([
		tx
			.select({ id: testBatch.id, code: lot.code, roastedAt: testRoast.roastedAt })
			.from(testBatch)
			.innerJoin(lot, eq(lot.id, testBatch.lotId))
			.innerJoin(testRoast, eq(testRoast.testBatchId, testBatch.id))
			.where(and(inArray(testBatch.id, testIds), isNull(testBatch.withdrawnAt))),
		tx
			.select({ id: sampleRoast.id, code: lot.code, roastedAt: sampleRoast.roastedAt })
			.from(sampleRoast)
			.innerJoin(lot, eq(lot.id, sampleRoast.lotId))
			.where(inArray(sampleRoast.id, sampleIds))
	]);
	const problems: Problem[] = [];
	const refuse = (message: string) => problems.push({ path: 'coffees', message });
	if (tests.length < new Set(testIds).size)
		refuse('A test on the table is not roasted yet, was withdrawn, or does not exist.');
	if (samples.length < new Set(sampleIds).size) refuse('There is no such sample.');
	for (const { code, roastedAt } of [...tests, ...samples])
		if (roastedAt > openedAt) refuse(`A coffee of ${code} was roasted after the session opened.`);
	return { names: [...tests, ...samples].map(({ code }) => code).concat(references), problems };
}
