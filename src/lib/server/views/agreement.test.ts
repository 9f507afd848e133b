import { describe, expect, it } from 'vitest';
import type { SampleSummary } from '../store/samples.ts';
import { agreementPage, type AgreementFilter } from './agreement.ts';

const ANY: AgreementFilter = { figure: 'onset', kind: '', stage: '', verdict: '', person: '' };

function sample(
	id: number,
	onsetS: number | null,
	earCrackS: number | null,
	over = {}
): SampleSummary {
	const crack = {
		verdict: onsetS === null ? 'none' : 'distinct',
		onsetS,
		peakS: onsetS && onsetS + 30
	};
	const reading = { crack, inputs: { earCrackS: null } };
	const lot = { lotCode: `L${id}`, lotName: '', lotKind: 'washed', producer: '', fileName: '' };
	const roast = { stage: 'arrival', roastedAt: 0, by: 'Ada', method: 'release-1', problems: [] };
	return { id, ...lot, ...roast, earCrackS, reading, ...over } as unknown as SampleSummary;
}

/** Differences 2, -2, 6 and -6 s: mean 0, standard deviation sqrt(80 / 3) by hand. */
const FOUR = [
	sample(1, 302, 300),
	sample(2, 308, 310),
	sample(3, 326, 320, { by: 'Ben' }),
	sample(4, 324, 330, { lotKind: 'natural' })
];

describe('agreement of computed and heard cracks', () => {
	it('takes the samples with both marks, largest difference first', () => {
		const page = agreementPage([...FOUR, sample(5, 340, null), sample(6, null, 350)], ANY, 'UTC');
		expect(page.pairs.map(({ id }) => id)).toEqual([3, 4, 1, 2]);
		expect(page.all.agreement.spread!.meanDifference.value).toBeCloseTo(0);
		expect(page.all.agreement.spread!.sd).toBeCloseTo(Math.sqrt(80 / 3));
		expect(page.onlyHeard).toEqual([{ label: 'L6, arrival', href: '/samples/6', atS: 350 }]);
		expect(page.onlyComputed).toBe(1);
	});

	it('compares with the half-cracked moment when asked', () => {
		const page = agreementPage(FOUR, { ...ANY, figure: 'half-cracked' }, 'UTC');
		expect(page.all.agreement.spread!.meanDifference.value).toBeCloseTo(30);
	});

	it('counts a mark in the log where the record has none', () => {
		const crack = { verdict: 'weak', onsetS: 300, peakS: 330 };
		const inLog = sample(7, 300, null, { reading: { crack, inputs: { earCrackS: 299 } } });
		expect(agreementPage([inLog], ANY, 'UTC').pairs[0]).toMatchObject({
			heardS: 299,
			differenceS: 1
		});
	});

	it('groups by kind and person, each with its lots', () => {
		const page = agreementPage(FOUR, ANY, 'UTC');
		expect(page.byKind.map(({ group, lots }) => [group, lots])).toEqual([
			['natural', 1],
			['washed', 3]
		]);
		expect(page.byPerson.map(({ group, lots }) => [group, lots])).toEqual([
			['Ada', 3],
			['Ben', 1]
		]);
		expect(page.byPerson[1]!.agreement.because).toContain('1 pair so far');
	});

	it('filters, but offers every person', () => {
		const page = agreementPage(FOUR, { ...ANY, person: 'Ben' }, 'UTC');
		expect(page.pairs.map(({ id }) => id)).toEqual([3]);
		expect(page.persons).toEqual(['Ada', 'Ben']);
	});

	it('says which lie outside the limits', () => {
		const even = Array.from({ length: 30 }, (_, i) => sample(i + 10, 300 + (i % 2), 300));
		const page = agreementPage([...even, sample(99, 330, 300)], ANY, 'UTC');
		expect(page.pairs.filter(({ isOutside }) => isOutside).map(({ id }) => id)).toEqual([99]);
	});
});
