import { z } from 'zod';
import { LOT_KINDS, SAMPLE_STAGES, STAGES, VERDICTS } from '#lib/domain/lot/lot.ts';
import { CUTS } from '../views/cost.ts';

/**
 * What goes in and out of the interface for programs. These schemas check every call and every answer, and
 * the OpenAPI document is made from them. Units are in the names; instants are UTC in ISO 8601.
 */
const instant = z.iso.datetime().describe('UTC, ISO 8601');
const day = z.iso.date();
const massG = z.int().describe('grams');
const minor = z.int().describe('minor units of the currency');
const code = z.string().min(1).max(100);

export const PROBLEM = z
	.strictObject({
		type: z.string(),
		title: z.string(),
		status: z.int().min(400).max(599),
		detail: z.string(),
		errors: z
			.array(z.strictObject({ path: z.string(), message: z.string() }))
			.optional()
			.describe('what is wrong with the input, by field')
	})
	.meta({ id: 'Problem', description: 'Problem details, RFC 9457' });

export const LOT = z
	.strictObject({
		code,
		name: z.string(),
		kind: z.enum(LOT_KINDS),
		country: z.string().describe('ISO 3166-1 alpha-2'),
		producer: z.string(),
		supplier: z.string(),
		variety: z.string(),
		cropYear: z.string(),
		organic: z.boolean(),
		decaf: z.boolean(),
		stage: z.enum(STAGES),
		since: instant,
		because: z.string().describe('the record that the stage comes from'),
		nextStep: z.string().nullable(),
		onHandG: massG,
		testsRoasted: z.int(),
		testsWaiting: z.int(),
		releaseBy: day.nullable(),
		releaseByBecause: z.string().nullable()
	})
	.meta({ id: 'Lot' });

export const SAMPLE = z
	.strictObject({
		id: z.int(),
		lot: code,
		stage: z.enum(SAMPLE_STAGES),
		roastedAt: instant,
		by: z.string(),
		fileName: z.string(),
		reading: z
			.strictObject({
				method: z.string(),
				crack: z.string().describe('what the reading says of a first crack'),
				crackS: z.number().nullable().describe('seconds from charge'),
				crackC: z.number().nullable().describe('degrees Celsius'),
				shares: z
					.strictObject({
						early: z.number(),
						middle: z.number(),
						around: z.number(),
						after: z.number()
					})
					.describe('of all released water; they sum to 1'),
				developmentS: z.number().nullable(),
				dropS: z.number(),
				weightLoss: z.number().nullable().describe('0 to 1'),
				sureness: z.number().describe('0 to 1')
			})
			.nullable()
			.describe('null where the log can’t be read')
	})
	.meta({ id: 'Sample' });

export const TEST = z
	.strictObject({
		id: z.int(),
		lot: code,
		number: z.int(),
		purpose: z.string(),
		roaster: code,
		plannedAt: instant,
		plannedBy: z.string(),
		chargeG: massG,
		roastedAt: instant.nullable(),
		outG: massG.nullable(),
		hasLog: z.boolean(),
		verdict: z.enum(VERDICTS).nullable()
	})
	.meta({ id: 'Test' });

export const SLOT = z
	.strictObject({
		id: z.int(),
		roaster: code,
		startAt: instant,
		endAt: instant,
		kind: z.string(),
		lot: code,
		product: code.nullable(),
		test: z.int().nullable().describe('number of the lot’s test'),
		chargeG: massG,
		dueAt: instant,
		locked: z.boolean()
	})
	.meta({ id: 'Slot' });

export const COST_LINE = z
	.strictObject({
		key: z.string(),
		name: z.string().nullable(),
		tests: z.int(),
		greenG: massG,
		machineS: z.int().describe('seconds on the roaster'),
		costMinor: minor,
		recoveredMinor: minor,
		netMinor: minor
	})
	.meta({ id: 'CostLine' });

export const COSTS = z
	.strictObject({
		currency: z.string().describe('ISO 4217'),
		by: z.enum(CUTS),
		from: day.nullable().describe('null counts every test'),
		to: day,
		lines: z.array(COST_LINE),
		total: COST_LINE.omit({ key: true, name: true }),
		uncosted: z
			.array(z.strictObject({ path: z.string(), message: z.string() }))
			.describe('tests that are in no sum, with what is missing')
	})
	.meta({ id: 'Costs' });

export const LIVE_LOG = z
	.strictObject({
		id: z.uuid(),
		fileName: z.string(),
		startedAt: instant,
		nextChunk: z.int().describe('number of the chunk that is expected next'),
		bytes: z.int(),
		finishedAt: instant.nullable(),
		intakeId: z.int().nullable().describe('the intake that the file went into')
	})
	.meta({ id: 'LiveLog' });

export const PAGE = {
	limit: z.coerce.number().int().min(1).max(200).default(50).describe('items on a page'),
	cursor: z.string().max(200).optional().describe('`next` of the page before')
};

/** A page of items; `next` is null on the last. */
export function pageOf<T extends z.ZodType>(item: T) {
	return z.strictObject({ items: z.array(item), next: z.string().nullable() });
}

export const LOT_NAME = z.strictObject({ code });
export const SAMPLE_NAME = z.strictObject({ id: z.coerce.number().int().min(1) });
export const TEST_NAME = z.strictObject({
	lot: code,
	number: z.coerce.number().int().min(1).max(99)
});
export const WEEK_NAME = z.strictObject({
	week: z
		.string()
		.regex(/^\d{4}-W(0[1-9]|[1-4]\d|5[0-3])$/)
		.describe('ISO 8601 week, 2026-W48')
});
export const LIVE_LOG_NAME = z.strictObject({
	id: z.uuid().describe('made by the sender')
});
export const CHUNK_NAME = z.strictObject({
	id: LIVE_LOG_NAME.shape.id,
	number: z.coerce.number().int().min(0).max(99_999).describe('from 0 on, without gaps')
});
export const LIVE_LOG_START = z.strictObject({ fileName: z.string().min(1).max(200) });
export const LIVE_LOG_FINISH = z.strictObject({
	chunks: z.int().min(1).describe('how many were sent'),
	sha256: z
		.string()
		.regex(/^[0-9a-f]{64}$/)
		.describe('of the whole file, hexadecimal'),
	about: z
		.record(z.string().max(40), z.string().max(2000))
		.default({})
		.describe('fields of the intake by name, such as lot, stage, roasted_at, out_kg'),
	record: z
		.boolean()
		.default(true)
		.describe('false leaves the file in an open intake for a person to look at')
});
export const LOTS_QUERY = z.strictObject({
	...PAGE,
	stage: z.enum(STAGES).optional().describe('lots of this stage only')
});
export const OF_LOT_QUERY = z.strictObject({
	...PAGE,
	lot: code.optional().describe('of this lot only')
});
export const COSTS_QUERY = z.strictObject({
	by: z.enum(CUTS).default('month'),
	period: z
		.string()
		.regex(/^(all|\d{4}(-(0[1-9]|1[0-2]))?)$/)
		.optional()
		.describe('a month, a year or all; the last 12 months without it'),
	lot: code.optional()
});
export const NOTHING = z.strictObject({});
