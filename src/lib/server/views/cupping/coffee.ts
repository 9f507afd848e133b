import type { CupRecord } from '../../store/cuppings.ts';
import { sampleHref } from '../places.ts';
import { testHref } from '../tests.ts';

/** A coffee on the table by its name: `HR-151 test 2`. For closed sessions, and for whoever sets a table. */
export interface CoffeeName {
	readonly label: string;
	readonly lotName: string;
	/** Null for a coffee without a record. */
	readonly href: string | null;
}

export function coffeeName(cup: CupRecord): CoffeeName {
	const { lotCode, lotName, testNumber, stage, sampleId, reference } = cup;
	if (lotCode !== null && testNumber !== null)
		return {
			label: `${lotCode} test ${testNumber}`,
			lotName: lotName ?? '',
			href: testHref(lotCode, testNumber)
		};
	if (lotCode !== null && sampleId !== null)
		return {
			label: `${lotCode} ${stage} sample`,
			lotName: lotName ?? '',
			href: sampleHref(sampleId)
		};
	return { label: reference ?? '', lotName: 'reference', href: null };
}

export const sessionHref = (id: number) => `/cuppings/${id}`;
export const sheetHref = (id: number, code: string) => `/cuppings/${id}/${code}`;
