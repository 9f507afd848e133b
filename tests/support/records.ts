import type { LotInput } from '#lib/server/commands/createLot.ts';

/** A made-up washed lot. */
export function lotFields(code: string, other: Partial<LotInput> = {}): LotInput {
	return {
		code,
		name: `Lot ${code}`,
		kind: 'washed',
		country: 'CO',
		producer: 'Finca Piedra',
		supplier: 'Harbour Green',
		variety: 'Caturra',
		cropYear: '2026',
		bagG: 60_000,
		bagsExpected: 1,
		expectedOn: null,
		organic: false,
		decaf: false,
		replaces: null,
		forProduct: null,
		neededOn: null,
		note: '',
		createdAt: Date.UTC(2026, 9, 1),
		...other
	};
}
