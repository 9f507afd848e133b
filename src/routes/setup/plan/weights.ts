import type { PlanWeights } from '#lib/domain/plan/objective.ts';
import type { RecordField } from '#lib/ui/components/record.ts';

/** The weights in the words and the order of their form. */
export const WEIGHT_FIELDS: readonly (RecordField & { readonly name: keyof PlanWeights })[] = (
	[
		['unplacedKg', 'A kilogram of green coffee without a slot'],
		['unplacedTest', 'A test without a slot'],
		['lateKg', 'A kilogram that is late at all'],
		['lateKgDay', 'A kilogram, for each day it is late'],
		['lateTest', 'A test that is late at all'],
		['lateTestDay', 'A test, for each day it is late'],
		['cleaningMin', 'A minute of cleaning, beyond the minute itself'],
		['changeover', 'A changeover or cleaning, beyond its minutes'],
		['overtimeMin', 'A minute of overtime, beyond the minute itself'],
		['minuteInUse', 'A roaster minute in use']
	] as const
).map(([name, label]) => ({ name, label, unit: 'roaster min', inputmode: 'decimal' }));
