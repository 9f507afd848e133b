import { BATCH_ITEMS } from '#lib/domain/cost/batch.ts';
import type { JournalLine } from '#lib/domain/cost/journal.ts';
import { RECOVERY_KINDS } from '#lib/domain/cost/recovery.ts';
import type { TestTotals } from '#lib/domain/cost/statement.ts';
import { minorDecimals, type Money } from '#lib/domain/quantity/money.ts';
import type { CostedTestView, StatementView } from '../cost.ts';
import { hours, kg, minor, real, scaled, type Cell } from './cell.ts';
import { plainTable, type ExportTable } from './table.ts';

/** The statement of test roasting as tables to work with. */

const SUM_COLUMNS = [
	...['green_kg', 'roaster_hours', ...BATCH_ITEMS, 'cost'],
	...RECOVERY_KINDS.flatMap((kind) => [`${under(kind)}_kg`, `${under(kind)}_value`]),
	...['unaccounted_kg', 'recovered', 'net', 'slots_displaced', 'margin_displaced_estimate']
];

function under(words: string): string {
	return words.replaceAll(' ', '_');
}

const amount = ({ minor: value, currency }: Money): Cell => minor(value, currency);

type Sums = Omit<TestTotals, 'tests' | 'roastedG'>;

function sumCells(sums: Sums): Cell[] {
	return [
		kg(sums.greenG),
		hours(sums.machineS),
		...BATCH_ITEMS.map((item) => amount(sums.byItem[item])),
		amount(sums.cost),
		...RECOVERY_KINDS.flatMap((kind) => [
			kg(sums.byRecovery[kind].massG),
			amount(sums.byRecovery[kind].value)
		]),
		kg(sums.unaccountedG),
		amount(sums.recovered),
		amount(sums.net),
		scaled(sums.displaced.milliSlots, 3),
		amount(sums.displaced.margin)
	];
}

/** The rows of a statement and their total. */
export function statementTable({ cut, lines, total, currency }: StatementView): ExportTable {
	return plainTable(
		[cut, 'name', 'currency', 'tests', ...SUM_COLUMNS],
		[
			...lines.map((line) => [line.key, line.name, currency, real(line.tests), ...sumCells(line)]),
			['Total', null, currency, real(total.tests), ...sumCells(total)]
		]
	);
}

/** The tests behind a statement, one a row, without a total. */
export function statementTestsTable(
	tests: readonly CostedTestView[],
	currency: string
): ExportTable {
	return plainTable(
		[
			...['lot', 'test', 'roasted_on', 'month', 'origin', 'kind', 'roaster', 'supplier', 'reason'],
			...['verdict', 'currency', ...SUM_COLUMNS, 'abnormal_loss_kg', 'abnormal_loss'],
			'how_worked'
		],
		tests.map((test) => [
			test.lotCode,
			real(test.number),
			test.day,
			test.month,
			test.country,
			test.lotKind,
			test.roasterName,
			test.supplier,
			test.reason,
			test.verdict,
			currency,
			...sumCells(test),
			kg(test.abnormalG),
			amount(test.abnormal),
			test.howWorked
		])
	);
}

/** What became of test coffee, by kind and product. */
export function recoveredTable({ recovered, currency }: StatementView): ExportTable {
	return plainTable(
		['kind', 'product', 'currency', 'roasted_kg', 'value', 'tests'],
		recovered.map((line) => [
			line.kind,
			line.product,
			currency,
			kg(line.massG),
			amount(line.value),
			line.tests.map(({ label }) => label).join('; ')
		])
	);
}

/** Weeks in which tests displaced production, with the inputs of the estimate. */
export function displacedTable({ displaced, currency }: StatementView): ExportTable {
	return plainTable(
		['week', 'roaster', 'currency', 'test_hours', 'displaced_hours', 'slots', 'margin', 'because'],
		displaced.map((week) => [
			week.week,
			week.roasterName,
			currency,
			hours(week.testS),
			hours(week.displacedS),
			scaled(week.milliSlots, 3),
			amount(week.margin),
			week.because
		])
	);
}

/** The sheets of a statement's workbook. */
export function statementSheets({
	statement,
	tests
}: {
	readonly statement: StatementView;
	readonly tests: readonly CostedTestView[];
}): { readonly name: string; readonly table: ExportTable }[] {
	return [
		{ name: 'Statement', table: statementTable(statement) },
		{ name: 'Tests', table: statementTestsTable(tests, statement.currency) },
		{ name: 'Recovered', table: recoveredTable(statement) },
		{ name: 'Displaced', table: displacedTable(statement) }
	];
}

/** Lines of the journal; amounts have all their decimals, as bookkeeping programs want them. */
export function journalTable(lines: readonly JournalLine[], currency: string): ExportTable {
	const whole = ({ minor: value }: Money): Cell => {
		const decimals = minorDecimals(currency);
		const digits = String(value).padStart(decimals + 1, '0');
		const cut = digits.length - decimals;
		return {
			digits: decimals === 0 ? digits : `${digits.slice(0, cut)}.${digits.slice(cut)}`
		};
	};
	return plainTable(
		['date', 'entry', 'account', 'account_name', 'debit', 'credit', 'currency', 'memo'],
		lines.map((line) => [
			line.day,
			`TEST-${line.entry}`,
			line.account.code,
			line.account.name,
			whole(line.debit),
			whole(line.credit),
			currency,
			line.memo
		])
	);
}
