import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { better } from '#lib/domain/plan/better.ts';
import { checkPlan } from '#lib/domain/plan/check.ts';
import { USUAL_WEIGHTS, costOf } from '#lib/domain/plan/objective.ts';
import { WEEKS, workingWeek } from '#support/plan-weeks.ts';

/**
 * The least costs known for the twenty weeks, and what found them. Run as a script it searches longer and
 * keeps what is less: `node tests/benchmark/bestPlans.ts [--steps 10000000] [--seeds 31,32] [--only large]`. The
 * bench itself runs by seed 1, which has no place here.
 */
export interface BestKnown {
	/** Roaster minutes, by the usual weights. */
	readonly cost: number;
	readonly seed: number;
	readonly steps: number;
	/** The search that found it: date and version of its moves and cooling. */
	readonly by: string;
}

/** Say here what the search is when it changes. */
const METHOD = '2026-11-25, runs and unused shifts, rounds from 1/60 of the middling heat';

const FILE = join(import.meta.dirname, 'plan-best.json');

/** By the name of the week. */
export function loadBestPlans(): Readonly<Record<string, BestKnown>> {
	return JSON.parse(readFileSync(FILE, 'utf8')) as Record<string, BestKnown>;
}

if (import.meta.main) {
	const { values } = parseArgs({
		options: {
			steps: { type: 'string', default: '10000000' },
			seeds: { type: 'string', default: '31,32' },
			only: { type: 'string', default: '' }
		}
	});
	for (const week of WEEKS.filter(({ name }) => name.includes(values.only)))
		for (const seed of values.seeds.split(',').map(Number)) {
			const found = search(week, seed, Number(values.steps));
			const known = loadBestPlans();
			const before = known[week.name]?.cost ?? Infinity;
			console.log(
				`${week.name}, seed ${seed}: ${found.cost.toFixed(2)}, known ${before.toFixed(2)}`
			);
			if (found.cost >= before) continue;
			const all = { ...known, [week.name]: found };
			const sorted = WEEKS.flatMap(({ name }) => (all[name] ? [[name, all[name]] as const] : []));
			writeFileSync(FILE, `${JSON.stringify(Object.fromEntries(sorted), null, '\t')}\n`);
		}
}

function search(
	{ seed: weekSeed, size }: (typeof WEEKS)[number],
	seed: number,
	steps: number
): BestKnown {
	const problem = workingWeek(weekSeed, size);
	const outcome = better(problem, USUAL_WEIGHTS, seed);
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	outcome.value.run(steps);
	const plan = outcome.value.plan();
	const broken = checkPlan(problem, plan);
	if (broken.length > 0) throw new Error(JSON.stringify(broken[0]));
	return { cost: costOf(problem, plan, USUAL_WEIGHTS).total, seed, steps, by: METHOD };
}
