import type { Content, TDocumentDefinitions } from 'pdfmake/interfaces.js';
import { BATCH_ITEMS } from '#lib/domain/cost/batch.ts';
import type { TestTotals } from '#lib/domain/cost/statement.ts';
import { formatMoney, type Money } from '#lib/domain/quantity/money.ts';
import type { CostedTestView, StatementView } from '../views/cost.ts';
import { CUT_WORDS, filterWords, spanWords } from '../views/costWords.ts';
import { dayWords } from '../views/words.ts';
import { factColumns, paper, remark, ruledTable, section, type PaperColumn } from './paper.ts';
import { fixed, kgText, moneyText, withUnit } from './text.ts';

/** The statement of test roasting for the file: what it cost, on what, what came back, what it displaced. */

/** More tests than this are left to the workbook. */
const MOST_TESTS = 400;

export interface StatementPaper {
	readonly statement: StatementView;
	readonly tests: readonly CostedTestView[];
	/** `25 Nov 2026, 10:05`. */
	readonly madeAt: string;
}

export function statementPaper({ statement, tests, madeAt }: StatementPaper): TDocumentDefinitions {
	const { siteName, cut, filter } = statement;
	const about = `Cost of testing by ${CUT_WORDS[cut].toLowerCase()}`;
	const only = filterWords(filter);
	return paper({ title: about, about, siteName, madeAt, orientation: 'landscape' }, [
		{ text: `${siteName} · Statement of test roasting`, style: 'small' },
		{ text: about, style: 'title', margin: [0, 1, 0, 2] },
		{
			text: `${spanWords(statement)}${only ? `; ${only} only` : ''}. Amounts in ${statement.currency}.`,
			margin: [0, 0, 0, 8]
		},
		figures(statement),
		...cutTable(statement),
		...recovered(statement),
		...displaced(statement),
		...uncosted(statement),
		...testList(tests, statement),
		section('How these figures come about'),
		remark(
			'A test costs the green coffee it charged at its landed cost, gas and power by meter or by rate, labour, machine (with depreciation) and quality time, less what its coffee brought in. Each line is rounded once; every figure is a sum of such lines, so that all cuts add up to the same total. Margin displaced is an estimate and in none of the costs.'
		),
		...closedWords(statement)
	]);
}

function closedWords({ openFrom }: StatementView): Content[] {
	return openFrom === null
		? []
		: [
				remark(
					`Months before ${openFrom} are closed and stay as they were; what was recorded for them afterwards counts from ${openFrom} on.`
				)
			];
}

function figures({ total }: StatementView): Content {
	return factColumns(
		[
			['Tests', fixed(total.tests)],
			['Green coffee', withUnit(kgText(total.greenG), 'kg')],
			['Time on roasters', withUnit(fixed(total.machineS / 3600, 2), 'h')],
			['Cost', moneyText(total.cost)],
			['Recovered', moneyText(total.recovered)],
			['Net cost', moneyText(total.net)],
			['Slots displaced, estimate', fixed(total.displaced.milliSlots / 1000, 1)],
			['Margin displaced, estimate', moneyText(total.displaced.margin)],
			['Roasted coffee not accounted for', withUnit(kgText(total.unaccountedG), 'kg')]
		],
		3
	);
}

const SUM_COLUMNS: readonly PaperColumn[] = [
	...['Green kg', 'Hours'],
	...['Green', 'Gas', 'Power', 'Labour', 'Machine', 'Quality'],
	...['Cost', 'Recovered', 'Net', 'Slots', 'Margin']
].map((label) => ({ label, width: 'auto', numeric: true }));

type Sums = Omit<TestTotals, 'tests' | 'roastedG' | 'byRecovery' | 'unaccountedG'>;

function sumCells(sums: Sums): string[] {
	return [
		kgText(sums.greenG),
		fixed(sums.machineS / 3600, 2),
		...BATCH_ITEMS.map((item) => amount(sums.byItem[item])),
		amount(sums.cost),
		amount(sums.recovered),
		amount(sums.net),
		fixed(sums.displaced.milliSlots / 1000, 1),
		amount(sums.displaced.margin)
	];
}

/** Without the currency, which the heading says. */
function amount(value: Money): string {
	return formatMoney(value).replace(`${value.currency} `, '').replace('-', '−');
}

function cutTable({ cut, lines, total }: StatementView): Content[] {
	return [
		section(`By ${CUT_WORDS[cut].toLowerCase()}`),
		ruledTable(
			[
				{ label: CUT_WORDS[cut], width: '*' },
				{ label: 'Tests', width: 'auto', numeric: true },
				...SUM_COLUMNS
			],
			lines.map((line) => [
				[line.key, line.name, line.partial ? '(so far)' : null].filter(Boolean).join(' '),
				fixed(line.tests),
				...sumCells(line)
			]),
			{ sums: ['Total', fixed(total.tests), ...sumCells(total)] }
		)
	];
}

function recovered({ recovered: lines, total }: StatementView): Content[] {
	if (lines.length === 0) return [];
	return [
		section('What became of the coffee'),
		ruledTable(
			[
				{ label: 'In what way', width: 90 },
				{ label: 'Into', width: 180 },
				{ label: 'Roasted kg', width: 70, numeric: true },
				{ label: 'Value', width: 70, numeric: true },
				{ label: 'Tests', width: 40, numeric: true }
			],
			lines.map((line) => [
				line.kind,
				line.product ?? '–',
				kgText(line.massG),
				amount(line.value),
				fixed(line.tests.length)
			]),
			{
				sums: [
					'Total',
					'',
					kgText(total.roastedG - total.unaccountedG),
					amount(total.recovered),
					''
				]
			}
		)
	];
}

function displaced({ displaced: weeks, nothingDisplaced }: StatementView): Content[] {
	const none = nothingDisplaced.map(({ because, weeks: n }) =>
		remark(`${n} other ${n === 1 ? 'week' : 'weeks'} of a roaster with tests. ${because}`)
	);
	if (weeks.length === 0) return none.length === 0 ? [] : [section('Slots displaced'), ...none];
	return [
		section('Slots displaced and the margin they would have earned, an estimate'),
		ruledTable(
			[
				{ label: 'Week', width: 52 },
				{ label: 'Roaster', width: 110 },
				{ label: 'Tests', width: 34, numeric: true },
				{ label: 'Slots', width: 34, numeric: true },
				{ label: 'Margin', width: 52, numeric: true },
				{ label: 'Of what', width: '*' }
			],
			weeks.map((week) => [
				week.week,
				week.roasterName,
				fixed(week.tests.length),
				fixed(week.milliSlots / 1000, 1),
				amount(week.margin),
				week.because
			])
		),
		...none
	];
}

function uncosted({ uncosted: problems }: StatementView): Content[] {
	if (problems.length === 0) return [];
	return [
		section('Not in these figures'),
		...problems.map(({ path, message }) => remark(`${path}: ${message}`))
	];
}

function testList(tests: readonly CostedTestView[], { total }: StatementView): Content[] {
	if (tests.length === 0) return [];
	if (tests.length > MOST_TESTS)
		return [
			section('Tests behind the figures'),
			remark(`${fixed(tests.length)} tests: they are in the workbook of the same statement.`)
		];
	return [
		section('Tests behind the figures, newest first'),
		ruledTable(
			[{ label: 'Test', width: '*' }, { label: 'Roasted', width: 'auto' }, ...SUM_COLUMNS],
			tests.map((test) => [
				{ text: `${test.lotCode} test ${test.number}${test.late ? ' *' : ''}`, noWrap: true },
				{ text: dayWords(test.day), noWrap: true },
				...sumCells(test)
			]),
			{ sums: ['Total', '', ...sumCells(total)] }
		),
		...(tests.some(({ late }) => late)
			? [remark('* Recorded, or changed, after the month of the roast was closed.')]
			: [])
	];
}
