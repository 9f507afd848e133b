import { money } from '#lib/domain/quantity/money.ts';
import { amount } from '#lib/ui/format/money.ts';
import { fixed, MINUS } from '#lib/ui/format/number.ts';
import type { PageData } from './$types';

export type Result = NonNullable<PageData['whatIf']['result']>;
export type FigureView = Result['figures'][number];

interface FigureWords {
	readonly label: string;
	/** What the number is shown in. */
	readonly unit: 'kg' | 'h' | 'min' | 'money' | '';
	/** What it is the sum of, for whoever opens it. */
	readonly from: string;
}

/** Each figure in the order in which it is looked at. */
const WORDS: Readonly<Record<FigureView['name'], FigureWords>> = {
	placedG: { label: 'Green coffee with a slot', unit: 'kg', from: 'charges of the slots ahead' },
	noRoomG: {
		label: 'Green coffee without a slot',
		unit: 'kg',
		from: 'what the orders still need less what slots hold'
	},
	noCoffeeG: {
		label: 'Green coffee that no lot can give',
		unit: 'kg',
		from: 'needs of lots that are not released or have too little left'
	},
	lateG: {
		label: 'Green coffee late',
		unit: 'kg',
		from: 'charges of slots that end after they are due'
	},
	testsPlaced: { label: 'Tests with a slot', unit: '', from: 'test slots ahead' },
	testsLate: { label: 'Tests late', unit: '', from: 'test slots that end after they are due' },
	testsLeft: { label: 'Tests without a slot', unit: '', from: 'tests that wait' },
	usedMin: {
		label: 'Roaster hours in use',
		unit: 'h',
		from: 'batches, warm-up, cleaning and changeover'
	},
	staffedMin: {
		label: 'Roaster hours staffed',
		unit: 'h',
		from: 'shifts less breaks and stoppages'
	},
	overtimeMin: {
		label: 'Overtime',
		unit: 'h',
		from: 'from the end of a shift to the end of its last slot'
	},
	cleaningMin: { label: 'Cleaning', unit: 'min', from: 'cleanings before slots' },
	changeovers: {
		label: 'Changeovers and cleanings',
		unit: '',
		from: 'changeovers and cleanings before slots'
	},
	worth: {
		label: 'All of it by your weights',
		unit: 'min',
		from: 'roaster minutes that each thing is worth by the weights'
	},
	energy: { label: 'Gas and power', unit: 'money', from: 'each batch at the rates of its day' },
	labour: {
		label: 'Labour of the batches',
		unit: 'money',
		from: 'minutes of labour a batch at the hourly rate'
	},
	machine: {
		label: 'Machine time',
		unit: 'money',
		from: 'each cycle at the machine’s hourly rate and depreciation'
	},
	quality: {
		label: 'Quality time of the tests',
		unit: 'money',
		from: 'minutes of quality time a test at the hourly rate'
	},
	setups: {
		label: 'Warm-up, cleaning and changeover',
		unit: 'money',
		from: 'labour and machine time for as long as they last; their gas is on no record'
	},
	running: {
		label: 'Cost of running the rest of the week',
		unit: 'money',
		from: 'the five lines above; green coffee is not in it'
	},
	staffedLabour: {
		label: 'Staffed hours at the labour rate',
		unit: 'money',
		from: 'every staffed roaster hour, full or not, at the plain hourly rate'
	},
	overtimeLabour: {
		label: 'Overtime at the labour rate',
		unit: 'money',
		from: 'overtime at the plain hourly rate; no premium is on record'
	},
	unsold: {
		label: 'Sales value of what has no slot',
		unit: 'money',
		from: 'roasted kilograms without a slot at the product’s price'
	}
};

/** What the weights are put on. */
const WEIGHTS: Readonly<Record<string, string>> = {
	minuteInUse: 'Roaster minutes in use',
	cleaningMin: 'Cleaning',
	changeover: 'Changeovers and cleanings',
	overtimeMin: 'Overtime',
	lateKg: 'Green coffee late',
	lateKgDay: 'Green coffee late, by days',
	lateTest: 'Tests late',
	lateTestDay: 'Tests late, by days',
	unplacedKg: 'Green coffee without a slot',
	unplacedTest: 'Tests without a slot'
};

export function wordsOf({ name }: FigureView): FigureWords {
	return WORDS[name];
}

/** The label of a part; weights have their own words. */
export function partLabel(figure: FigureView, label: string): string {
	return figure.name === 'worth' ? (WEIGHTS[label] ?? label) : label;
}

/** Rows of money that are no part of the cost of running. */
export function isBeside({ name }: FigureView): boolean {
	return name === 'staffedLabour' || name === 'overtimeLabour' || name === 'unsold';
}

/** Whether there is nothing of it in any plan. */
export function isNothing({ before, after, control }: FigureView): boolean {
	return before === 0 && after === 0 && (control ?? 0) === 0;
}

/** What is said first of a comparison, in this order. */
const FIRST: readonly FigureView['name'][] = [
	...(['noRoomG', 'noCoffeeG', 'lateG', 'testsLeft', 'testsLate'] as const),
	...(['usedMin', 'staffedMin', 'overtimeMin', 'running', 'unsold'] as const)
];

/** The differences in short: `Roaster hours in use 10.40 to 12.15 h`. */
export function inShort({ figures, money, currency }: Result): string[] {
	const all = [...figures, ...money];
	return FIRST.flatMap((name) => {
		const figure = all.find((one) => one.name === name);
		if (!figure) return [];
		const [before, after] = [figure.before, figure.after].map((value) =>
			valueText(figure, value, currency)
		);
		if (before === after) return [];
		const { label, unit } = WORDS[name];
		const measure = unit === 'money' ? currency : unit;
		return [`${label}: ${before} becomes ${after} ${measure}`.trim()];
	});
}

/** `12.5`, `40.00`; the unit stands beside the label. */
export function valueText({ name }: FigureView, value: number, currency: string): string {
	switch (WORDS[name].unit) {
		case 'kg':
			return fixed(value / 1000, 1);
		case 'h':
			return fixed(value / 60, 2);
		case 'money':
			return amount(money(value, currency));
		default:
			return fixed(value);
	}
}

/** The difference with its sign; a plain 0 where there is none to be seen. */
export function differenceText(figure: FigureView, by: number, currency: string): string {
	const text = valueText(figure, Math.abs(by), currency);
	if (!/[1-9]/.test(text)) return '0';
	return `${by > 0 ? '+' : MINUS}${text}`;
}
