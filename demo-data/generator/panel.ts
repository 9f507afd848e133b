import type { SampleStage } from '#lib/domain/lot/lot.ts';
import type { Day } from '#lib/domain/quantity/time.ts';
import { stamp, type Stamp } from './calendar.ts';
import { PEOPLE } from './cast.ts';
import { chanceFrom, type Chance } from './chance.ts';
import type { CodedLot } from './story.ts';
import { num, table, type Cell } from './text.ts';

/**
 * Blind cupping sessions of the panel, invented on a seed of their own: nothing else of the story draws
 * from it. One cupper scores high, one repeats badly; one lot's arrival is not what its pre-shipment was.
 */

interface Cupper {
	readonly name: string;
	/** Points above the coffee's own, and the standard deviation from cup to cup. */
	readonly bias: number;
	readonly sd: number;
}

const CUPPERS: readonly Cupper[] = [
	{ name: PEOPLE.quality, bias: 0, sd: 0.35 },
	{ name: PEOPLE.sampleRoaster, bias: -0.1, sd: 0.4 },
	{ name: PEOPLE.roastingLead, bias: 0.15, sd: 0.75 },
	{ name: PEOPLE.floor[0], bias: 0.95, sd: 0.45 }
];

type Coffee =
	| { readonly lot: string; readonly test: number }
	| { readonly lot: string; readonly stage: SampleStage }
	| { readonly reference: string };

interface Session {
	readonly name: string;
	readonly day: Day;
	readonly form: '2004' | '2024';
	readonly openMin: number;
	readonly seed: number;
	readonly cuppers: readonly number[];
	readonly coffees: readonly Coffee[];
	/** Sheets that are finished while it is open: by cupper, how many. Closed without. */
	readonly open?: readonly number[];
}

const HOUSE: Coffee = { reference: 'House reference' };
const sample = (lot: string, stage: SampleStage): Coffee => ({ lot, stage });
const test = (lot: string, number: number): Coffee => ({ lot, test: number });

const SESSIONS: readonly Session[] = [
	{
		...{ name: 'Samples before shipping', day: '2026-02-06', form: '2004', openMin: 870 },
		...{ seed: 402611, cuppers: [0, 1, 2] },
		coffees: [sample('HR-137', 'pre-shipment'), HOUSE, sample('HR-137', 'pre-shipment')]
	},
	{
		...{ name: 'Arrivals of April', day: '2026-04-10', form: '2004', openMin: 870 },
		...{ seed: 810417, cuppers: [0, 1, 2, 3] },
		coffees: [
			sample('HR-137', 'pre-shipment'),
			sample('HR-137', 'arrival'),
			HOUSE,
			sample('HR-137', 'arrival')
		]
	},
	{
		...{ name: 'Friday tests', day: '2026-11-06', form: '2024', openMin: 650 },
		...{ seed: 77120, cuppers: [0, 1, 2, 3] },
		coffees: [test('HR-152', 1), test('HR-157', 1), sample('HR-151', 'arrival'), HOUSE]
	},
	{
		...{ name: 'Friday tests and two samples', day: '2026-11-13', form: '2004', openMin: 650 },
		...{ seed: 5091, cuppers: [0, 1, 2, 3] },
		coffees: [
			...[test('HR-152', 2), test('HR-151', 1), test('HR-157', 2), sample('HR-160', 'arrival')],
			...[sample('HR-157', 'arrival'), HOUSE, test('HR-152', 2)]
		]
	},
	{
		...{ name: 'Wednesday tests and arrivals', day: '2026-11-18', form: '2004', openMin: 650 },
		...{ seed: 639001, cuppers: [0, 1, 3] },
		coffees: [
			...[test('HR-160', 1), test('HR-151', 2), sample('HR-153', 'arrival')],
			...[sample('HR-156', 'arrival'), HOUSE, sample('HR-153', 'arrival')]
		]
	},
	{
		...{ name: 'This week’s arrivals', day: '2026-11-20', form: '2004', openMin: 840 },
		...{ seed: 118823, cuppers: [1, 2] },
		coffees: [
			sample('HR-161', 'arrival'),
			sample('HR-158', 'arrival'),
			sample('HR-153', 'arrival'),
			HOUSE
		],
		open: [4, 1]
	}
];

/** The arrival that fell short of its pre-shipment sample, and by how many points. */
const FADED = { lot: 'HR-137', stage: 'arrival', points: 2.5 } as const;

const WORDS = [
	'apricot',
	'honey',
	'jasmine',
	'lime',
	'milk chocolate',
	'plum',
	'raw sugar',
	'roasted nut'
];

/** The three tables by their files. */
export function panelFiles(lots: readonly CodedLot[]): Map<string, string> {
	const chance = chanceFrom('the cupping panel');
	const sessions: Cell[][] = [];
	const cups: Cell[][] = [];
	const sheets: Cell[][] = [];
	for (const [i, session] of SESSIONS.entries()) {
		const number = i + 1;
		const at = (minutes: number): Stamp => stamp(session.day, session.openMin + minutes);
		const closed = session.open === undefined;
		sessions.push([
			...[number, session.name, session.form, session.seed, at(0), PEOPLE.quality],
			...[closed ? at(75) : '', closed ? PEOPLE.quality : '', '']
		]);
		for (const [c, coffee] of session.coffees.entries()) {
			cups.push([number, c + 1, ...coffeeCells(coffee, lots)]);
			for (const [j, index] of session.cuppers.entries()) {
				if (session.open !== undefined && c > session.open[j]!) continue;
				const isBegun = session.open !== undefined && c === session.open[j];
				const drawn = chance.branch(`${number}/${c}/${index}`);
				const filled = scores(CUPPERS[index]!, coffee, session.form, lots, drawn);
				sheets.push([
					...[number, c + 1, CUPPERS[index]!.name, at(6 + 9 * c + 2 * j)],
					...[(isBegun ? filled.slice(0, 3) : filled).join('; '), words(coffee, lots, drawn), '']
				]);
			}
		}
	}
	return new Map([
		[
			'cupping_sessions.csv',
			table(
				[
					...['session', 'name', 'form', 'seed', 'opened_at', 'opened_by', 'closed_at'],
					...['closed_by', 'key_seen_by']
				],
				sessions
			)
		],
		['session_cups.csv', table(['session', 'place', 'lot', 'test', 'sample', 'reference'], cups)],
		[
			'session_sheets.csv',
			table(['session', 'place', 'by', 'saved_at', 'scores', 'descriptors', 'note'], sheets)
		]
	]);
}

function lotOf(code: string, lots: readonly CodedLot[]) {
	const found = lots.find((each) => each.code === code);
	if (!found) throw new Error(`the story has no lot ${code}`);
	return found.lot;
}

function coffeeCells(coffee: Coffee, lots: readonly CodedLot[]): Cell[] {
	if ('reference' in coffee) return ['', '', '', coffee.reference];
	if ('test' in coffee) return [coffee.lot, coffee.test, '', ''];
	const roasted = lotOf(coffee.lot, lots).samples.find(({ stage }) => stage === coffee.stage);
	if (!roasted) throw new Error(`${coffee.lot} has no ${coffee.stage} sample`);
	return [coffee.lot, '', roasted.at, ''];
}

/** What the coffee is worth in points, the same for every cupper and cup. */
function worth(coffee: Coffee, lots: readonly CodedLot[]): number {
	if ('reference' in coffee) return 83;
	const lot = chanceFrom(`worth of ${coffee.lot}`).tame(85, 1.2);
	if ('stage' in coffee)
		return coffee.lot === FADED.lot && coffee.stage === FADED.stage ? lot - FADED.points : lot;
	const verdict = lotOf(coffee.lot, lots).tests.find(
		({ number }) => number === coffee.test
	)?.verdict;
	return verdict?.verdict === 'approve' ? lot : lot - 2.5;
}

/** Fields of the form with their scores, `flavour 7.75`, in the order they are filled. */
function scores(
	{ bias, sd }: Cupper,
	coffee: Coffee,
	form: '2004' | '2024',
	lots: readonly CodedLot[],
	chance: Chance
): string[] {
	const points = worth(coffee, lots) + bias + chance.tame(0, sd);
	if (form === '2024') {
		// Liking is asked on a wider scale: 80 points are a middling 5 or so.
		const sum = Math.round((points - 4 - 52.75) / 0.65625);
		return [...spread(AFFECTIVE, sum, 1, chance), 'nonUniformCups 0', 'defectiveCups 0'];
	}
	const taint = chance.happens(0.04) ? 1 : 0;
	const quarters = Math.round((points - 30 + 2 * taint) * 4);
	return [
		...spread(SUM, quarters, 0.25, chance),
		...['uniformCups 5', 'cleanCups 5', 'sweetCups 5'],
		...[`taintCups ${taint}`, 'faultCups 0']
	];
}

const SUM = ['fragranceAroma', 'flavour', 'aftertaste', 'acidity', 'body', 'balance', 'overall'];
const AFFECTIVE = [
	...['fragrance', 'aroma', 'flavour', 'aftertaste', 'acidity', 'sweetness', 'mouthfeel'],
	'overall'
];

/** So many steps over the fields, nearly even: what is over goes to fields that chance names. */
function spread(fields: readonly string[], steps: number, step: number, chance: Chance): string[] {
	const even = Math.floor(steps / fields.length);
	const parts = fields.map(() => even);
	for (let left = steps - even * fields.length; left > 0; left -= 1)
		parts[chance.whole(0, fields.length - 1)]! += 1;
	return fields.map((field, i) => `${field} ${num(parts[i]! * step, 2)}`);
}

function words(coffee: Coffee, lots: readonly CodedLot[], chance: Chance): string {
	if ('reference' in coffee) return 'milk chocolate, roasted nut';
	const known = lotOf(coffee.lot, lots)
		.tests.flatMap(({ cupping }) => cupping?.descriptors.split(', ') ?? [])
		.slice(0, 2);
	return [...new Set([...known, chance.pick(WORDS), chance.pick(WORDS)])].join(', ');
}
