import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import { isCurrency } from '#lib/domain/quantity/money.ts';
import { isZone } from '#lib/domain/quantity/week.ts';
import { costRate, priceTerms, product, site } from '../db/schema.ts';
import { loadSite } from '../store/site.ts';
import { note, type Deed } from './act.ts';
import { changes } from './changes.ts';
import { versionProblem, type SeenVersion } from './versions.ts';

export type SiteInput = Omit<typeof site.$inferInsert, 'id' | 'version'>;

/**
 * Sets the site up, or changes it. The currency stays once amounts are recorded in it: they are kept
 * without their currency and would change their meaning.
 */
export async function saveSite(
	deed: Deed,
	input: SiteInput,
	seen: SeenVersion = null
): Promise<Outcome<{ version: number }>> {
	const existing = await loadSite(deed.tx);
	const problems = siteProblems(input);
	const conflict = await versionProblem(deed, 'The site', seen, existing?.version ?? 0, {
		acts: ['save site']
	});
	if (conflict) problems.push({ ...conflict, path: 'version' });
	if (existing && existing.currency !== input.currency && (await hasAmounts(deed)))
		problems.push({
			path: 'currency',
			message: `Found '${input.currency}', expected ${existing.currency}: amounts are recorded in it already.`
		});
	if (problems.length > 0) return bad(...problems);
	const version = (existing?.version ?? 0) + 1;
	await deed.tx
		.insert(site)
		.values({ id: 1, ...input, version })
		.onConflictDoUpdate({ target: site.id, set: { ...input, version } });
	await note(deed, 'save site', null, changes(existing, input));
	return good({ version });
}

function siteProblems(input: SiteInput): Problem[] {
	const problems: Problem[] = [];
	if (input.name.trim() === '')
		problems.push({ path: 'name', message: 'Give the roastery a name.' });
	if (!isZone(input.timeZone))
		problems.push({
			path: 'time_zone',
			message: `Found '${input.timeZone}', expected a time zone such as Europe/London.`
		});
	if (!isCurrency(input.currency))
		problems.push({
			path: 'currency',
			message: `Found '${input.currency}', expected an ISO 4217 code such as GBP.`
		});
	return problems;
}

/** Whether anything is priced yet. */
async function hasAmounts({ tx }: Deed): Promise<boolean> {
	const found = await Promise.all([
		tx.select({ id: costRate.id }).from(costRate).limit(1),
		tx.select({ id: product.id }).from(product).limit(1),
		tx.select({ id: priceTerms.id }).from(priceTerms).limit(1)
	]);
	return found.some((rows) => rows.length > 0);
}
