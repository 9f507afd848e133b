import { type Ratio, ratio, roundRatio, times } from '../quantity/decimal.ts';
import { splitWhole } from '../quantity/share.ts';
import type { InstantMs } from '../quantity/time.ts';
import type { MovementKind } from './movement.ts';

/**
 * What the stock of one lot is worth, by both formulas that IAS 2 allows for what can be interchanged:
 * weighted average and first in, first out (paragraphs 25 to 27, from memory).
 *
 * 1. The average is a moving one: it changes when coffee comes in or its cost is corrected, never when
 *    some leaves, and is kept exactly.
 * 2. First in, first out takes the layers in the order they came; a layer is one receipt.
 * 3. What leaves costs the value before less the value after, each rounded once to the minor unit, so
 *    nothing is lost between stock and use, and an emptied lot is worth nothing.
 * 4. A later correction of cost is shared by kilograms, by largest remainder, between what is on hand,
 *    what was used before and what of the delivery is still to come. The share of what was used is
 *    charged when the correction counts; the past stays as it was.
 * 5. Coffee found at a count comes in at the value of the stock, coffee missing leaves like any other.
 * 6. Writing down to net realisable value is not done here: it is a judgement for the accounts.
 */

/** Both formulas, side by side. Minor units. */
export interface BothValues {
	readonly averageMinor: number;
	readonly fifoMinor: number;
}

export type StockEvent =
	| { readonly kind: 'in'; readonly at: InstantMs; readonly massG: number; readonly minor: number }
	| { readonly kind: 'found'; readonly at: InstantMs; readonly massG: number }
	| {
			readonly kind: 'out';
			readonly at: InstantMs;
			/** Grams above zero. */
			readonly massG: number;
			readonly use: MovementKind;
	  }
	| {
			readonly kind: 'correct';
			readonly at: InstantMs;
			readonly minor: number;
			/** Grams of the delivery that are not here yet. */
			readonly toComeG: number;
	  };

/** How a correction was shared (rule 4). Minor units; they sum to it. */
export interface Sharing {
	readonly onHandMinor: number;
	readonly usedMinor: number;
	readonly toComeMinor: number;
	/** The used share by what it was used for. */
	readonly byUse: readonly {
		readonly use: MovementKind;
		readonly massG: number;
		readonly minor: number;
	}[];
	readonly onHandG: number;
	readonly usedG: number;
}

/** The stock after an event. */
export interface StockStep {
	readonly event: StockEvent;
	readonly onHandG: number;
	/** Value on hand. */
	readonly value: BothValues;
	/** What the event added to the value of the stock; below zero for what left. */
	readonly change: BothValues;
	/** Exact minor units a gram by average; null before anything came. It stays when stock runs out. */
	readonly unit: Ratio | null;
	/** The same by the oldest layer. */
	readonly oldestUnit: Ratio | null;
	/** Of a correction only. */
	readonly sharing: Sharing | null;
}

interface Layer {
	massG: number;
	readonly unit: Ratio;
}

interface Book {
	massG: number;
	unit: Ratio | null;
	layers: Layer[];
	oldestUnit: Ratio | null;
	readonly used: Map<MovementKind, number>;
}

/** A lot's stock, empty at first, that is moved event by event in the order they count. */
export interface StockBook {
	/** @throws RangeError when more leaves than is there, or a mass is not above zero */
	readonly take: (event: StockEvent) => StockStep;
}

/** A new, empty book of a lot. */
export function stockBook(): StockBook {
	const book: Book = { massG: 0, unit: null, layers: [], oldestUnit: null, used: new Map() };
	let before: BothValues = { averageMinor: 0, fifoMinor: 0 };
	return {
		take(event) {
			const sharing = take(book, event);
			book.oldestUnit = book.layers[0]?.unit ?? book.oldestUnit;
			const value = valueOf(book);
			const change = {
				averageMinor: value.averageMinor - before.averageMinor,
				fifoMinor: value.fifoMinor - before.fifoMinor
			};
			before = value;
			const { massG: onHandG, unit, oldestUnit } = book;
			return { event, onHandG, value, change, unit, oldestUnit, sharing };
		}
	};
}

/** The value of a lot after each event, in the order they count; throws as `StockBook.take` does. */
export function valueStock(events: readonly StockEvent[]): StockStep[] {
	const book = stockBook();
	return events.map((event) => book.take(event));
}

function valueOf({ massG, unit, layers }: Book): BothValues {
	return {
		averageMinor: worth(massG, unit),
		fifoMinor: layers.reduce((sum, layer) => sum + worth(layer.massG, layer.unit), 0)
	};
}

function worth(massG: number, unit: Ratio | null): number {
	return unit === null ? 0 : roundRatio(times(unit, ratio(massG)));
}

function take(book: Book, event: StockEvent): Sharing | null {
	if (event.kind !== 'correct' && !(event.massG > 0))
		throw new RangeError(`stock moves by grams above zero, found ${event.massG}`);
	switch (event.kind) {
		case 'in':
			bring(book, event.massG, event.minor, ratio(event.minor, event.massG));
			return null;
		case 'found':
			find(book, event.massG);
			return null;
		case 'out':
			leave(book, event.massG);
			book.used.set(event.use, (book.used.get(event.use) ?? 0) + event.massG);
			return null;
		case 'correct':
			return correct(book, event.minor, event.toComeG);
	}
}

function bring(book: Book, massG: number, minor: number, unit: Ratio): void {
	const value = worth(book.massG, book.unit) + minor;
	book.massG += massG;
	book.unit = ratio(value, book.massG);
	book.layers.push({ massG, unit });
}

/** Rule 5: the average stays, the newest layer grows. */
function find(book: Book, massG: number): void {
	const newest = book.layers.at(-1);
	book.massG += massG;
	if (newest) newest.massG += massG;
	else book.layers.push({ massG, unit: book.oldestUnit ?? ratio(0) });
	book.unit ??= ratio(0);
}

function leave(book: Book, massG: number): void {
	if (massG > book.massG) throw new RangeError(`${massG} g can't leave a stock of ${book.massG} g`);
	book.massG -= massG;
	let wantedG = massG;
	while (wantedG > 0) {
		const layer = book.layers[0]!;
		const takenG = Math.min(wantedG, layer.massG);
		wantedG -= takenG;
		layer.massG -= takenG;
		if (layer.massG === 0) {
			book.oldestUnit = layer.unit;
			book.layers.shift();
		}
	}
}

/** Rule 4. */
function correct(book: Book, minor: number, toComeG: number): Sharing {
	const uses = [...book.used].filter(([, massG]) => massG > 0);
	const usedG = uses.reduce((sum, [, massG]) => sum + massG, 0);
	const weights = [book.massG, toComeG, ...uses.map(([, massG]) => massG)];
	const isHere = weights.some((weight) => weight > 0);
	const [onHandMinor = 0, toComeMinor = 0, ...used] = isHere ? splitWhole(minor, weights) : [];
	if (book.massG > 0) revalue(book, onHandMinor);
	return {
		onHandMinor,
		toComeMinor,
		usedMinor: used.reduce((sum, part) => sum + part, 0),
		byUse: uses.map(([use, massG], i) => ({ use, massG, minor: used[i] ?? 0 })),
		onHandG: book.massG,
		usedG
	};
}

function revalue(book: Book, minor: number): void {
	book.unit = ratio(worth(book.massG, book.unit) + minor, book.massG);
	const parts = splitWhole(
		minor,
		book.layers.map((layer) => layer.massG)
	);
	book.layers = book.layers.map(({ massG, unit }, i) => ({
		massG,
		unit: ratio(worth(massG, unit) + (parts[i] ?? 0), massG)
	}));
}
