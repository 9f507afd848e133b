import type { NextAct } from '#lib/domain/lot/lot.ts';
import { testHref } from './tests.ts';

/** Addresses of records, so that every page leads to them alike. */

export function lotHref(code: string): string {
	return `/lots/${encodeURIComponent(code)}`;
}

export function sampleHref(sampleId: number): string {
	return `/samples/${sampleId}`;
}

/** A production batch beside its recipe. */
export function batchHref(lotCode: string, productionId: number): string {
	return `${lotHref(lotCode)}/batches/${productionId}`;
}

/** Where the next act of a lot is done. */
export function nextHref(lotCode: string, act: NextAct): string {
	const code = encodeURIComponent(lotCode);
	switch (act.kind) {
		case 'weigh in':
		case 'correct stock':
		case 'clear stock':
			return `${lotHref(lotCode)}?act=movement#act-movement`;
		case 'roast sample':
			return `/intake?lot=${code}`;
		case 'plan test':
			return `/tests/new?lot=${code}`;
		case 'release':
			return `${lotHref(lotCode)}?act=release#act-release`;
		case 'roast test':
		case 'cup test':
		case 'give verdict':
			return testHref(lotCode, act.test!);
	}
}

const REGIONS = new Intl.DisplayNames('en', { type: 'region', fallback: 'code' });

/** A country of ISO 3166-1 by its name; a code that is not in use stays as it is. */
export function countryName(code: string): string {
	return REGIONS.of(code) ?? code;
}
