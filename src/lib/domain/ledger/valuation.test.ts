import { assert, array, constantFrom, integer, property, record } from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type StockEvent, type StockStep, valueStock } from './valuation.ts';

/** Thousandths of a unit stand for grams, so that prices stay those of the examples. */
const came = (units: number, price: number): StockEvent => ({
	kind: 'in',
	at: 0,
	massG: units * 1000,
	minor: Math.round(units * price * 100)
});
const left = (units: number): StockEvent => ({
	kind: 'out',
	at: 0,
	massG: units * 1000,
	use: 'produced'
});
const correction = (minor: number, toComeG = 0): StockEvent => ({
	...{ kind: 'correct', at: 0, minor, toComeG }
});

describe('the value of stock', () => {
	it('keeps the average while coffee leaves, and takes the oldest layer first (rules 1, 2)', () => {
		const steps = valueStock([came(10, 5), came(10, 7), left(15)]);
		expect(steps.map((step) => step.value)).toEqual([
			{ averageMinor: 5_000, fifoMinor: 5_000 },
			{ averageMinor: 12_000, fifoMinor: 12_000 },
			{ averageMinor: 3_000, fifoMinor: 3_500 }
		]);
		expect(steps[2]?.change).toEqual({ averageMinor: -9_000, fifoMinor: -8_500 });
	});

	it('is nothing once nothing is there, whatever was rounded on the way (rule 3)', () => {
		const steps = valueStock([
			{ kind: 'in', at: 0, massG: 3, minor: 100 },
			...[1, 1, 1].map((massG): StockEvent => ({ kind: 'out', at: 1, massG, use: 'tested' }))
		]);
		expect(steps.map((step) => step.change.averageMinor)).toEqual([100, -33, -34, -33]);
		expect(steps.at(-1)?.value).toEqual({ averageMinor: 0, fifoMinor: 0 });
	});

	it('shares a correction between stock, use and what is to come (rule 4)', () => {
		const steps = valueStock([came(6, 10), left(2), correction(1_000, 4_000)]);
		const last = steps.at(-1)!;
		expect(last.sharing).toEqual({
			onHandMinor: 400,
			usedMinor: 200,
			toComeMinor: 400,
			byUse: [{ use: 'produced', massG: 2_000, minor: 200 }],
			onHandG: 4_000,
			usedG: 2_000
		});
		expect(last.value).toEqual({ averageMinor: 4_400, fifoMinor: 4_400 });
		expect(steps[1]?.change.averageMinor).toBe(-2_000);
	});

	it('takes found coffee in at the value of the stock (rule 5)', () => {
		const found: StockEvent = { kind: 'found', at: 0, massG: 1000 };
		const steps = valueStock([came(10, 5), came(10, 7), found]);
		expect(steps[2]?.change).toEqual({ averageMinor: 600, fifoMinor: 700 });
		expect(valueStock([found])[0]?.value).toEqual({ averageMinor: 0, fifoMinor: 0 });
	});

	it('throws when more leaves than is there', () => {
		expect(() => valueStock([came(1, 1), left(2)])).toThrow(/2000 g can't leave a stock of 1000 g/);
		expect(() => valueStock([came(1, 1), left(0)])).toThrow(/above zero/);
	});
});

describe('over random histories', () => {
	const kind = constantFrom('in', 'found', 'out', 'correct');
	const one = record({
		kind,
		massG: integer({ min: 1, max: 90_000 }),
		minor: integer({ min: -9_000, max: 90_000 })
	});
	/** What is impossible is left out; a part of what is there leaves. */
	function possible(
		wishes: readonly { kind: string; massG: number; minor: number }[]
	): StockEvent[] {
		let stockG = 0;
		return wishes.flatMap(({ kind: wish, massG, minor }, at): StockEvent[] => {
			if (wish === 'correct') return [{ kind: 'correct', at, minor, toComeG: 0 }];
			if (wish === 'out') {
				const outG = Math.min(massG, stockG);
				stockG -= outG;
				return outG === 0 ? [] : [{ kind: 'out', at, massG: outG, use: 'produced' }];
			}
			stockG += massG;
			if (wish === 'found') return [{ kind: 'found', at, massG }];
			return [{ kind: 'in', at, massG, minor: Math.abs(minor) }];
		});
	}
	const sumOf = (steps: readonly StockStep[], pick: (step: StockStep) => number) =>
		steps.reduce((sum, step) => sum + pick(step), 0);

	it('loses no penny between what came, what left and what is there (rules 3, 4)', () => {
		assert(
			property(array(one, { maxLength: 40 }), (wishes) => {
				const steps = valueStock(possible(wishes));
				const last = steps.at(-1);
				if (!last) return;
				for (const formula of ['averageMinor', 'fifoMinor'] as const) {
					expect(sumOf(steps, (step) => step.change[formula])).toBe(last.value[formula]);
					for (const { change, event, sharing } of steps) {
						if (event.kind === 'in') expect(change[formula]).toBe(event.minor);
						if (sharing)
							expect(change[formula]).toBe(sharing.onHandG > 0 ? sharing.onHandMinor : 0);
					}
				}
				for (const { event, sharing } of steps)
					if (event.kind === 'correct' && sharing && sharing.onHandG + sharing.usedG > 0)
						expect(sharing.onHandMinor + sharing.usedMinor).toBe(event.minor);
				expect(last.onHandG === 0 ? last.value : null).toEqual(
					last.onHandG === 0 ? { averageMinor: 0, fifoMinor: 0 } : null
				);
			}),
			{ numRuns: 300, seed: 6 }
		);
	});
});
