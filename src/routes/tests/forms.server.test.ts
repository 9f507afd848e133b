import { expect, test } from 'vitest';
import { readCupping, readDrumLog } from './forms.server.ts';

const ABOUT = { cupped_at: '2026-11-25T10:00', descriptors: 'plum', cupping_note: '' };
const SUM = {
	...{ fragranceAroma: '7.5', flavour: '8', aftertaste: '7.75', acidity: '8', body: '7.5' },
	...{ balance: '7.75', overall: '8', uniformCups: '5', cleanCups: '5', sweetCups: '5' },
	...{ taintCups: '0', faultCups: '0' }
};

test('each form is read into its own sheet', () => {
	const sum = readCupping({ ...ABOUT, ...SUM, form: '2004' });
	expect(sum.ok && sum.value.sheet).toMatchObject({ form: 'sum', flavour: 8, uniformCups: 5 });
	const liking = 'fragrance aroma flavour aftertaste acidity sweetness mouthfeel overall';
	const scores = Object.fromEntries(liking.split(' ').map((name) => [name, '7']));
	const affective = readCupping({
		...ABOUT,
		...scores,
		...{ nonUniformCups: '1', defectiveCups: '0', form: '2024' }
	});
	expect(affective.ok && affective.value.sheet).toMatchObject({
		...{ form: 'affective', mouthfeel: 7, nonUniformCups: 1 }
	});
});

test('what is missing is named by its field, everything at once', () => {
	const read = readCupping({ ...SUM, form: '2004', acidity: '', cupped_at: 'now' });
	expect(read.ok).toBe(false);
	expect(!read.ok && read.problems.map(({ path }) => path)).toEqual(['cupped_at', 'acidity']);
});

/** A made drum log: down from 190 to 70 and up again, in 8 minutes. */
function log(beanHeading: string): Uint8Array {
	const rows = Array.from({ length: 481 }, (_, s) => {
		const bean = s < 60 ? 190 - 2 * s : 70 + (135 * (s - 60)) / 420;
		return `${s},${bean.toFixed(1)},${(bean + 40).toFixed(1)},60`;
	});
	return new TextEncoder().encode(
		[`time_s,${beanHeading},exhaust_c,gas_pct`, ...rows, ''].join('\n')
	);
}

test('a drum log that is known for sure is taken without a preview', () => {
	const read = readDrumLog('test-1.csv', log('bean_c'), []);
	expect(read.ok && read.value.log.kind).toBe('drum');
	expect(read.ok && read.value.log.timeS.length).toBe(481);
});

test('one whose bean temperature is not sure is refused with the reason', () => {
	const read = readDrumLog('test-1.csv', log('thing'), []);
	expect(read.ok).toBe(false);
	expect(!read.ok && read.problems.every(({ message }) => message.length > 0)).toBe(true);
});

test('a file that is no log is refused', () => {
	const read = readDrumLog('list.csv', new TextEncoder().encode('a,b\n1,2\n3,4\n'), []);
	expect(!read.ok && read.problems.length).toBeGreaterThan(0);
});
