import { expect, test } from 'vitest';
import { instantOf, real } from './cells.ts';
import { filled, orElse, readTable, type TableOptions, type TableSpec } from './tableFile.ts';
import {
	TABLES,
	cuppingsTable,
	demandTable,
	lotsTable,
	movementsTable,
	priceTermsTable,
	productsTable,
	rejectionsTable,
	samplesTable,
	shiftsTable,
	testsTable
} from './tables.ts';
import { good } from '#lib/domain/quantity/problem.ts';

function read<T, R>(text: string, spec: TableSpec<T, R>, options: TableOptions = {}) {
	return readTable(new TextEncoder().encode(text), 't.csv', spec, {
		siteCurrency: 'GBP',
		...options
	});
}

function records<T, R>(text: string, spec: TableSpec<T, R>, options?: TableOptions): T[] {
	const outcome = read(text, spec, options);
	if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
	return outcome.value.rows.map(({ value }) => value);
}

function faults<T, R>(text: string, spec: TableSpec<T, R>, options?: TableOptions): string[] {
	const outcome = read(text, spec, options);
	return outcome.ok ? [] : outcome.problems.map(({ path, message }) => `${path}: ${message}`);
}

const PRODUCTS = 'code,name,shade,price_per_kg\nA,Alder,light,17.4\nB,"Birch, dark",dark,16.25\n';

test('rule 1: columns are found in any order, case and delimiter, below a preamble; others are noted', () => {
	const text =
		'\ufeffMade by hand\r\n\r\nPrice per kg;SHADE;Colour;name;Code\r\n17,4;Light;x;Alder;A\r\n';
	const outcome = read(text, productsTable);
	expect(outcome.ok && outcome.value).toEqual({
		fileName: 't.csv',
		rows: [
			{
				row: 4,
				value: {
					code: 'A',
					name: 'Alder',
					shade: 'light',
					priceMinorPerKg: 1740,
					verdictRule: null
				}
			}
		],
		notes: ['Columns that are not of products were left out: colour.']
	});
});

test('rule 2: a missing column, a column twice and a file of another table are refused', () => {
	expect(faults('code,name,shade\nA,Alder,light\n', productsTable)).toEqual([
		"t.csv, row 1: found no column 'price_per_kg', expected it in products (an amount of at least 0 with no more decimals than its currency has)"
	]);
	expect(faults('code,code,name,shade,price_per_kg\n', productsTable)[0]).toContain(
		"'code' 2 times"
	);
	expect(faults('x,y\n1,2\n', productsTable)[0]).toContain(
		'found none of the columns of products: expected code, name, shade, price_per_kg'
	);
});

test('rule 2: each bad cell names file, row, column, found and expected; nothing is taken', () => {
	const text = PRODUCTS + 'A,Again,light,1\nC,,grey,12.345\n';
	expect(faults(text, productsTable)).toEqual([
		"t.csv, row 4, column 'code': found the same as in row 2, expected it once",
		"t.csv, row 5, column 'name': found nothing, expected text of at most 2000 characters",
		"t.csv, row 5, column 'shade': found 'grey', expected one of light, medium, dark",
		"t.csv, row 5, column 'price_per_kg': found '12.345', expected an amount of at least 0 with no more decimals than its currency has"
	]);
});

test('rule 2: a cell too many and a file cut off', () => {
	expect(faults(PRODUCTS + 'C,Cedar,dark,16,5\n', productsTable)[0]).toContain(
		"row 4, column 5: found 5 cells ('5' is one too many), expected 4"
	);
	expect(faults(PRODUCTS + 'C,Ced', productsTable)[0]).toContain(
		'row 4: found 2 cells at the end of the file'
	);
});

test('rule 3: the decimal mark comes from number columns only, and undecided grouping is refused', () => {
	const spec: TableSpec<{ name: string; value: number; note: string }> = {
		name: 'things',
		columns: {
			name: filled('name', { describe: 'text', numeric: false, parse: (cell) => cell }),
			value: filled('value', real(0, 1e6, 'g')),
			note: orElse('note', { describe: 'text', numeric: false, parse: (cell) => cell }, '')
		},
		finish: good
	};
	expect(records('name;value;note\na;1,5;2.5\nb;1.234,5;3.5\n', spec).map((r) => r.value)).toEqual([
		1.5, 1234.5
	]);
	expect(faults('name,value\na,"1,234"\n', spec)[0]).toContain("found '1,234'");
	expect(records('name,value\na,"1,234.5"\n', spec)[0]!.value).toBe(1234.5);
});

test('a table with headings only is an empty table', () => {
	expect(records('lot,at,by,reason\n', rejectionsTable)).toEqual([]);
});

test('days, local times and weeks move by whole weeks, over a year of 53 weeks', () => {
	// ISO 8601: 2026 has 53 weeks; 2026-12-28 is 2026-W53-1 and 2027-01-04 is 2027-W01-1 (shared check values).
	const shifted = records('product,week,roasted_kg\nA,2026-W53,1.5\n', demandTable, {
		shiftDays: 7
	});
	expect(shifted).toEqual([{ product: 'A', week: '2027-W01', roastedG: 1500 }]);
	const turn = records('lot,at,by,reason\nL,2026-12-28 23:30,Ann,mould\n', rejectionsTable, {
		shiftDays: 7
	});
	expect(turn[0]!.at).toBe('2027-01-04 23:30');
	expect(() => read(PRODUCTS, productsTable, { shiftDays: 3 })).toThrow(/whole weeks, found 3/);
});

test('a local time becomes the instant of the zone', () => {
	// Europe/London: 2026-10-25 01:30 comes twice, 00:30Z first (tzdata 2025b, shared check values).
	expect(instantOf('2026-10-25 01:30', 'Europe/London')).toBe(Date.UTC(2026, 9, 25, 0, 30));
	expect(instantOf('2026-07-01 09:00', 'Europe/London')).toBe(Date.UTC(2026, 6, 1, 8, 0));
});

test('money follows the decimals of its currency (ISO 4217: JPY none, KWD three)', () => {
	const terms = (currency: string, freight: string) =>
		'lot,agreed_on,basis,price,differential,per,currency,fx_rate,fx_on,incoterm,freight,port\n' +
		`L,2026-01-05,exchange,2.81,-0.05,lb,${currency},0.7495,2026-01-05,FOB,${freight},12.34\n`;
	expect(records(terms('USD', '595.56'), priceTermsTable)[0]).toMatchObject({
		priceE4: 28100,
		differentialE4: -500,
		fxE6: 749500,
		freightMinor: 59556,
		portMinor: 1234,
		insurancePpm: 0
	});
	expect(records(terms('JPY', '595'), priceTermsTable)[0]!.freightMinor).toBe(595);
	expect(records(terms('KWD', '1.234'), priceTermsTable)[0]!.freightMinor).toBe(1234);
	expect(faults(terms('JPY', '595.5'), priceTermsTable)).toHaveLength(1);
	expect(faults(terms('USX', '1'), priceTermsTable)[0]).toContain("column 'currency': found 'USX'");
});

test('a lot with blanks where blanks are allowed', () => {
	const text =
		'code,name,kind,country,producer,supplier,variety,crop_year,bag_kg,bags_expected,expected_on,organic,decaf,replaces,for_product,needed_on,note,created_at\n' +
		'L-1,Pale Ridge,Washed,co,,,,2025/26,70,33,2026-02-30,no,yes,,,,,\n';
	expect(faults(text, lotsTable)).toEqual([
		"t.csv, row 2, column 'expected_on': found '2026-02-30', expected a day such as 2026-11-25"
	]);
	expect(records(text.replace('2026-02-30', ''), lotsTable)[0]).toMatchObject({
		kind: 'washed',
		country: 'CO',
		bagG: 70000,
		expectedOn: null,
		decaf: true,
		createdAt: null
	});
});

test('a shift ends after it starts and a movement has the sign of its kind', () => {
	expect(faults('roaster,weekday,start,end\nD,1,15:00,06:30\n', shiftsTable)[0]).toContain(
		"column 'end'"
	);
	expect(faults('roaster,weekday,start,end\nD,8,06:30,15:00\n', shiftsTable)[0]).toContain(
		'from 1 to 7'
	);
	const movement = (kind: string, mass: string) =>
		faults(
			`lot,at,kind,mass_kg,reason,by\nL,2026-01-05 09:00,${kind},${mass},r,Ann\n`,
			movementsTable
		);
	expect(movement('received', '329.25')).toEqual([]);
	expect(movement('count difference', '-0.5')).toEqual([]);
	expect(movement('received', '-329')[0]).toContain(
		"found -329 kg for 'received', expected more than 0"
	);
	expect(movement('written off', '5')[0]).toContain('expected less than 0');
	expect(movement('tested', '-5')[0]).toContain("found 'tested', expected one of received");
});

const TEST_HEAD =
	'lot,number,planned_at,planned_by,purpose,change,roaster,charge_kg,start_c,soak_s,gas_steps,air_steps,drum_rpm,roasted_at,roasted_by,out_kg,log_file,note\n';

test('a planned test, a roasted one, and one that is half filled', () => {
	const plan = 'L,1,2026-01-05 09:00,Ann,first,,D,9,203,45,0:00 60; 4:30 75.5,0:00 40,54';
	expect(records(`${TEST_HEAD}${plan},,,,,\n`, testsTable)[0]).toMatchObject({
		settings: {
			chargeG: 9000,
			gasSteps: [
				{ atS: 0, pct: 60 },
				{ atS: 270, pct: 75.5 }
			]
		},
		roast: null
	});
	const roasted = records(
		`${TEST_HEAD}${plan},2026-01-06 10:00,Ann,7.76,logs/a.csv,\n`,
		testsTable
	);
	expect(roasted[0]!.roast).toMatchObject({ outG: 7760, logFile: 'logs/a.csv' });
	expect(faults(`${TEST_HEAD}${plan},2026-01-06 10:00,,7.76,,\n`, testsTable)[0]).toContain(
		"'roasted_by'"
	);
	expect(faults(`${TEST_HEAD}${plan},,,7.76,,\n`, testsTable)[0]).toContain("'roasted_at'");
	expect(faults(`${TEST_HEAD}${plan},2026-01-06 10:00,Ann,9.5,,\n`, testsTable)[0]).toContain(
		'the charge'
	);
	const back = plan.replace('4:30 75.5', '0:00 75');
	expect(faults(`${TEST_HEAD}${back},,,,,\n`, testsTable)[0]).toContain(
		'steps of time and per cent'
	);
});

test('cupping scores become a filled form, checked by its own rules', () => {
	const head = 'lot,test,cupped_at,by,form,scores,taints,faults,descriptors,note\n';
	const row = (form: string, scores: string) =>
		`${head}L,1,2026-01-05 09:00,Ann,${form},${scores},1,0,plum,\n`;
	expect(
		records(row('2004', '7.25;7.5;8;7.5;7;7.75;10;8;10;7.25'), cuppingsTable)[0]!.sheet
	).toEqual({
		form: 'sum',
		fragranceAroma: 7.25,
		flavour: 7.5,
		aftertaste: 8,
		acidity: 7.5,
		body: 7,
		balance: 7.75,
		uniformCups: 5,
		cleanCups: 4,
		sweetCups: 5,
		overall: 7.25,
		taintCups: 1,
		faultCups: 0
	});
	expect(records(row('2024', '8;6;8;5;7;5;6;6'), cuppingsTable)[0]!.sheet).toMatchObject({
		form: 'affective',
		fragrance: 8,
		overall: 6,
		nonUniformCups: 1
	});
	expect(faults(row('2024', '8;6;8'), cuppingsTable)[0]).toContain('found 3 scores, expected 8');
	expect(faults(row('2024', '8;6;8;5;7;5;6;10'), cuppingsTable)[0]).toContain('from 1 to 9');
});

test('a log file stays below the folder of its table', () => {
	const sample = (file: string) =>
		faults(
			`lot,stage,roasted_at,by,log_file\nL,arrival,2026-01-05 09:00,Ann,${file}\n`,
			samplesTable
		);
	expect(sample('logs/a.csv')).toEqual([]);
	for (const file of ['../a.csv', '/etc/a.csv', 'logs/../../a.csv', 'c:\\a.csv', 'logs//a.csv'])
		expect(sample(file)[0]).toContain('a file name below the folder');
});

test('every table: its own headings in full are known and no two columns share a name', () => {
	for (const [file, spec] of Object.entries(TABLES)) {
		const names = Object.values(spec.columns).map((column) => column.name);
		expect(new Set(names).size, file).toBe(names.length);
		const outcome = read(names.join(',') + '\n', spec as unknown as TableSpec<unknown>);
		expect(outcome.ok && outcome.value.notes, file).toEqual([]);
	}
});
