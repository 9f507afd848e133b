import type { Movement } from '../ledger/movement.ts';
import {
	type BothValues,
	stockBook,
	type StockEvent,
	type StockStep
} from '../ledger/valuation.ts';
import { powerOfTen, type Ratio, ratio, roundRatio, times } from '../quantity/decimal.ts';
import { type Currency, minorDecimals } from '../quantity/money.ts';
import type { Problem } from '../quantity/problem.ts';
import type { InstantMs } from '../quantity/time.ts';
import type { UsedRate } from './fx.ts';
import { type PostedInvoice, settled } from './invoice.ts';
import { type LandedCost, landedCost } from './landed.ts';
import type { PriceTerms } from './terms.ts';

/**
 * What the green coffee of a lot costs, moment by moment.
 *
 * 1. A moment knows the terms and invoices that count by then; later ones never change it. So a closed
 *    period stays as it was by itself: nothing that is recorded afterwards counts within it.
 * 2. Deliveries of one month are costed as one; a later one bears what it adds to the lot's cost. Until
 *    it arrives, its part of a cost that changes waits for it.
 * 3. New terms or an invoice change the lot's cost; the difference is shared between what is on hand,
 *    what was used and what is still to come (`ledger/valuation.ts`, rule 4).
 * 4. Batches are costed by weighted average; first in, first out is shown beside it. Layers are those of
 *    one lot: lots are not pooled, since each is kept, tested and sold apart.
 * 5. What leaves for one use within a month, between two moments at which the cost may change, may be summed
 *    beforehand (`summedMovements`): the value of the lot at those moments and at month ends is the same.
 */

/** Terms as they count. */
export interface PostedTerms {
	readonly terms: PriceTerms;
	readonly postedAt: InstantMs;
	/** Rate of the fixing day where the terms state none; null where none is needed. */
	readonly rate: UsedRate | null;
	/** Why they can't be costed: a missing rate. */
	readonly problem: Problem | null;
}

/** A movement as far as value asks for it. */
export type LotMovement = Pick<Movement, 'at' | 'kind' | 'massG'> & { readonly id: number };

export interface LotRecords {
	readonly currency: Currency;
	/** Green grams expected: the cost is spread over them until some arrive. */
	readonly expectedG: number;
	/** In the order they count. */
	readonly terms: readonly PostedTerms[];
	readonly invoices: readonly PostedInvoice[];
	/** The lot's ledger, in the order it counts. */
	readonly movements: readonly LotMovement[];
	/** The month an instant belongs to at the site. */
	readonly monthOf: (at: InstantMs) => string;
}

/** A step of the lot's value with the record it comes from. */
export interface ValuedStep extends StockStep {
	readonly movementId: number | null;
	readonly invoiceId: number | null;
	/** Whether terms were known: without them coffee moves at no cost. */
	readonly isCosted: boolean;
}

export interface LotValue {
	readonly currency: Currency;
	/** As known by the newest record; null without terms that can be costed. */
	readonly landed: LandedCost | null;
	/** Why there is none. */
	readonly problem: Problem | null;
	readonly steps: readonly ValuedStep[];
	/** What a kilogram of the whole lot costs from an instant on, as known then. */
	readonly plans: readonly { readonly from: InstantMs; readonly perG: Ratio }[];
}

/**
 * What a price is wanted for: `book` what coffee costs that leaves the stock at that moment; `plan` what
 * the lot's coffee is expected to cost as known then, also before any is here.
 */
export type GreenPurpose = 'book' | 'plan';

export interface GreenPrice {
	/** Exact minor units of the site's currency for one gram. */
	readonly perG: Ratio;
	/** Ten-thousandths of the major unit for one kilogram, rounded half up. */
	readonly perKgE4: number;
}

/**
 * The green cost of a lot at an instant, the one place that batches, papers and statements ask.
 * @returns null where no terms count by then or, for `book`, nothing had come
 */
export function greenValueAt(
	value: LotValue,
	at: InstantMs,
	purpose: GreenPurpose
): GreenPrice | null {
	const perG =
		purpose === 'plan'
			? value.plans.findLast(({ from }) => from <= at)?.perG
			: value.steps.findLast((step) => step.event.at <= at && step.unit && step.isCosted)?.unit;
	return perG ? { perG, perKgE4: perKgE4Of(perG, value.currency) } : null;
}

function perKgE4Of(perG: Ratio, currency: Currency): number {
	return roundRatio(times(perG, ratio(10_000_000n, powerOfTen(minorDecimals(currency)))));
}

/** What is known of a lot's cost at a moment. */
interface Known {
	readonly terms: PostedTerms | null;
	readonly invoices: readonly PostedInvoice[];
}

/** The lot's landed cost over a mass by what is known; null without terms that can be costed. */
function costOf(known: Known, massG: number, currency: Currency): LandedCost | null {
	const { terms } = known;
	if (!terms || terms.problem || massG <= 0) return null;
	const basis = { currency, ...(terms.rate ? { rate: terms.rate } : {}) };
	return settled(landedCost(terms.terms, massG, basis), known.invoices);
}

type Happening =
	| { readonly at: InstantMs; readonly terms: PostedTerms }
	| { readonly at: InstantMs; readonly invoice: PostedInvoice }
	| { readonly at: InstantMs; readonly movement: LotMovement };

/** Costs come first at an instant, and what moves keeps its order. */
function inOrder({ terms, invoices, movements }: LotRecords): Happening[] {
	const records: Happening[] = [
		...terms.map((each) => ({ at: each.postedAt, terms: each })),
		...invoices.map((invoice) => ({ at: invoice.postedAt, invoice })),
		...movements.map((movement) => ({ at: movement.at, movement }))
	];
	return records.sort((a, b) => a.at - b.at);
}

/**
 * The ledger of a lot with what leaves summed as far as its value doesn't ask for more (rule 5); `lotValue`
 * of it knows the same prices, corrections and month ends.
 */
export function summedMovements(records: LotRecords): LotMovement[] {
	const cuts = [...records.terms, ...records.invoices]
		.map(({ postedAt }) => postedAt)
		.sort((a, b) => a - b);
	const summed: LotMovement[] = [];
	/** Where in `summed` each use of the running stretch stands. */
	const running = new Map<string, number>();
	let [passed, month] = [0, ''];
	for (const movement of records.movements) {
		const before = passed;
		while (passed < cuts.length && cuts[passed]! <= movement.at) passed += 1;
		const monthNow = records.monthOf(movement.at);
		if (passed > before || monthNow !== month) running.clear();
		month = monthNow;
		const at = running.get(movement.kind);
		if (movement.massG > 0) {
			running.clear();
			summed.push(movement);
		} else if (at === undefined) {
			running.set(movement.kind, summed.length);
			summed.push(movement);
		} else {
			const first = summed[at]!;
			summed[at] = { ...first, massG: first.massG + movement.massG };
		}
	}
	return summed;
}

/** A lot at the end of a month in which something happened to it. */
export interface LotMonth {
	readonly month: string;
	readonly onHandG: number;
	readonly value: BothValues;
	/** Charged in the month for what had been used before, minor units. */
	readonly correctedMinor: number;
}

/** A lot at the end of each month in which something happened to it, the oldest first. */
export function lotMonths(
	{ steps }: Pick<LotValue, 'steps'>,
	monthOf: LotRecords['monthOf']
): LotMonth[] {
	const months = new Map<string, LotMonth>();
	for (const { event, onHandG, value, sharing } of steps) {
		const month = monthOf(event.at);
		const correctedMinor = (months.get(month)?.correctedMinor ?? 0) + (sharing?.usedMinor ?? 0);
		months.set(month, { month, onHandG, value, correctedMinor });
	}
	return [...months.values()];
}

/** The value of a lot at every step of its life, from its records. */
export function lotValue(records: LotRecords): LotValue {
	const { currency } = records;
	const life = new Life(records);
	for (const record of inOrder(records)) life.take(record);
	const receivedG = life.dueG > 0 ? life.dueG : records.expectedG;
	return {
		currency,
		landed: costOf(life.known, receivedG, currency),
		problem: life.known.terms?.problem ?? null,
		steps: life.steps,
		plans: life.plans
	};
}

/** The lot as it goes through its records. */
class Life {
	known: Known = { terms: null, invoices: [] };
	readonly steps: ValuedStep[] = [];
	readonly plans: { from: InstantMs; perG: Ratio }[] = [];
	/** Grams received by the end of the running month of deliveries. */
	dueG = 0;
	readonly #records: LotRecords;
	readonly #book = stockBook();
	readonly #receivedIn: ReadonlyMap<string, number>;
	#month = '';
	/** Minor units that the lot's deliveries bear in all, and those of them that wait (rule 2). */
	#costMinor = 0;
	#waitingMinor = 0;
	#toComeG = 0;

	constructor(records: LotRecords) {
		this.#records = records;
		const received = records.movements.filter(({ kind }) => kind === 'received');
		const byMonth = Map.groupBy(received, ({ at }) => records.monthOf(at));
		this.#receivedIn = new Map(
			[...byMonth].map(([month, own]) => [month, own.reduce((sum, m) => sum + m.massG, 0)])
		);
	}

	take(record: Happening): void {
		if ('movement' in record) return this.#move(record.movement);
		const isInvoice = 'invoice' in record;
		this.known = isInvoice
			? { ...this.known, invoices: [...this.known.invoices, record.invoice] }
			: { ...this.known, terms: record.terms };
		this.#recost(record.at, isInvoice ? record.invoice.id : null);
	}

	/** Rule 3. */
	#recost(at: InstantMs, invoiceId: number | null): void {
		const difference = this.#newCost(at);
		if (this.dueG === 0 || (difference === 0 && invoiceId === null)) return;
		const event: StockEvent = { kind: 'correct', at, minor: difference, toComeG: this.#toComeG };
		const step = this.#add(event, { invoiceId });
		this.#waitingMinor += step.sharing?.toComeMinor ?? 0;
	}

	/** Costs the lot anew by what is known now; the difference in minor units. */
	#newCost(at: InstantMs): number {
		const { currency, expectedG } = this.#records;
		const massG = this.dueG > 0 ? this.dueG : expectedG;
		const cost = costOf(this.known, massG, currency);
		if (cost) this.plans.push({ from: at, perG: ratio(cost.total.minor, massG) });
		if (this.dueG === 0) return 0;
		const before = this.#costMinor;
		this.#costMinor = cost?.total.minor ?? 0;
		return this.#costMinor - before;
	}

	#move({ id, at, kind, massG }: LotMovement): void {
		const from = { movementId: id };
		if (kind === 'received') this.#receive(at, massG, id);
		else if (massG > 0) this.#add({ kind: 'found', at, massG }, from);
		else this.#add({ kind: 'out', at, massG: -massG, use: kind }, from);
	}

	/** Rule 2. */
	#receive(at: InstantMs, massG: number, movementId: number): void {
		const month = this.#records.monthOf(at);
		if (month !== this.#month) {
			this.#month = month;
			this.#toComeG = this.#receivedIn.get(month) ?? massG;
			this.dueG += this.#toComeG;
			this.#waitingMinor += this.#newCost(at);
		}
		const minor = roundRatio(times(ratio(this.#waitingMinor), ratio(massG, this.#toComeG)));
		this.#waitingMinor -= minor;
		this.#toComeG -= massG;
		this.#add({ kind: 'in', at, massG, minor }, { movementId });
	}

	#add(event: StockEvent, from: { movementId?: number; invoiceId?: number | null }): ValuedStep {
		const { movementId = null, invoiceId = null } = from;
		const { terms } = this.known;
		const isCosted = terms !== null && terms.problem === null;
		const step = { ...this.#book.take(event), movementId, invoiceId, isCosted };
		this.steps.push(step);
		return step;
	}
}
