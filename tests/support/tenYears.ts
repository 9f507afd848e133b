import { sql, type SQL } from 'drizzle-orm';
import { addWeeks } from '#lib/domain/quantity/week.ts';
import type { Database, Tx } from '#lib/server/db/client.ts';

/** What a roastery has after ten years, as the goals put it. */
export const TEN_YEARS = { lots: 5_000, batches: 200_000, logs: 20_000 } as const;

/** Copies of the demo's released lots, each five weeks older than the one before: ten years in all. */
const COPIES = 101;
const WEEKS_APART = 5;
const DAYS_APART = 7 * WEEKS_APART;
const MS_APART = DAYS_APART * 86_400_000;
/** Blends of copies this near would come before those that the demo has today. */
const FIRST_BLENDED = 14;
/** Stands in where copies are older than the demo's table of exchange rates. */
const FX_E6 = 790_000;

/** How the columns of a table change from copy to copy; the others stay. */
interface CopiedTable {
	readonly name: string;
	/** Rows to copy, as a condition. */
	readonly where: string;
	/** Ids moved on by the copy, with the table whose ids they are. */
	readonly ids: Readonly<Record<string, string>>;
	readonly instants?: readonly string[];
	readonly days?: readonly string[];
	/** Anything else, in terms of the copy's number `n`. */
	readonly set?: Readonly<Record<string, string>>;
	readonly from?: number;
}

const LOTS = 'select distinct lot_id from "release"';
const TESTS = `select id from test_batch where lot_id in (${LOTS})`;
const SAMPLES = `select id from sample_roast where lot_id in (${LOTS})`;
const PRODUCED = `select id from production where lot_id in (${LOTS})`;
const LOGS = [
	`select log_id from sample_roast where lot_id in (${LOTS})`,
	`select log_id from test_roast where test_batch_id in (${TESTS})`,
	`select log_id from production where lot_id in (${LOTS})`
].join(' union ');
const ofLot = `lot_id in (${LOTS})`;

const TABLES: readonly CopiedTable[] = [
	{
		...{ name: 'lot', where: `id in (${LOTS})`, ids: { id: 'lot' } },
		...{ instants: ['created_at'], days: ['expected_on', 'needed_on'] },
		set: {
			code: `code || '-' || n`,
			replaces_lot_id: `case when replaces_lot_id in (${LOTS}) then replaces_lot_id + n * (select max(id) from lot) end`
		}
	},
	{
		...{ name: 'price_terms', where: ofLot, ids: { id: 'price_terms', lot_id: 'lot' } },
		...{ instants: ['posted_at', 'recorded_at'], days: ['agreed_on', 'fx_on'] },
		set: { fx_e6: `case when fx_e6 = 0 then ${FX_E6} else fx_e6 end` }
	},
	{
		...{ name: 'invoice', where: ofLot, ids: { id: 'invoice', lot_id: 'lot' } },
		...{ instants: ['posted_at', 'recorded_at'], days: ['day'] },
		set: { fx_e6: `coalesce(fx_e6, ${FX_E6})` }
	},
	{ name: 'bag', where: ofLot, ids: { id: 'bag', lot_id: 'lot' } },
	{
		name: 'roast_log',
		where: `id in (${LOGS})`,
		ids: { id: 'roast_log' },
		instants: ['recorded_at'],
		// What was uploaded is read for a download only.
		set: { sha256: `sha256 || '-' || n`, bytes: `x'00'` }
	},
	{ name: 'roast_log_column', where: `log_id in (${LOGS})`, ids: { log_id: 'roast_log' } },
	{
		name: 'sample_roast',
		where: ofLot,
		ids: { id: 'sample_roast', lot_id: 'lot', log_id: 'roast_log' },
		instants: ['roasted_at', 'recorded_at']
	},
	{ name: 'reading', where: `sample_id in (${SAMPLES})`, ids: { sample_id: 'sample_roast' } },
	{ name: 'fingerprint', where: `sample_id in (${SAMPLES})`, ids: { sample_id: 'sample_roast' } },
	{
		...{ name: 'measurement', where: ofLot, ids: { id: 'measurement', lot_id: 'lot' } },
		instants: ['at', 'recorded_at']
	},
	{
		...{ name: 'test_batch', where: ofLot, ids: { id: 'test_batch', lot_id: 'lot' } },
		instants: ['planned_at', 'withdrawn_at']
	},
	{
		name: 'test_roast',
		where: `test_batch_id in (${TESTS})`,
		ids: { test_batch_id: 'test_batch', log_id: 'roast_log' },
		instants: ['roasted_at', 'recorded_at']
	},
	{
		name: 'cupping',
		where: `test_batch_id in (${TESTS}) or sample_id in (${SAMPLES})`,
		ids: { id: 'cupping', test_batch_id: 'test_batch', sample_id: 'sample_roast' },
		instants: ['cupped_at', 'recorded_at'],
		set: { session_cup_id: 'null' }
	},
	{
		name: 'verdict',
		where: `test_batch_id in (${TESTS})`,
		ids: { test_batch_id: 'test_batch' },
		instants: ['at', 'recorded_at']
	},
	{
		name: 'recovery',
		where: `test_batch_id in (${TESTS})`,
		ids: { id: 'recovery', test_batch_id: 'test_batch' },
		instants: ['at', 'recorded_at']
	},
	{
		name: 'recipe',
		where: ofLot,
		ids: { id: 'recipe', lot_id: 'lot', test_batch_id: 'test_batch' },
		instants: ['approved_at']
	},
	{
		...{
			name: 'release',
			where: ofLot,
			ids: { id: 'release', lot_id: 'lot', recipe_id: 'recipe' }
		},
		instants: ['at', 'recorded_at']
	},
	{
		...{ name: 'lot_turn', where: ofLot, ids: { id: 'lot_turn', lot_id: 'lot' } },
		instants: ['at', 'recorded_at']
	},
	{
		name: 'production',
		where: ofLot,
		ids: { id: 'production', lot_id: 'lot', log_id: 'roast_log' },
		instants: ['roasted_at', 'recorded_at']
	},
	{
		name: 'movement',
		where: ofLot,
		ids: {
			...{ id: 'movement', lot_id: 'lot', sample_id: 'sample_roast' },
			...{ test_batch_id: 'test_batch', production_id: 'production' }
		},
		instants: ['at', 'happened_at', 'recorded_at']
	},
	{
		name: 'bag_movement',
		where: `bag_id in (select id from bag where ${ofLot})`,
		ids: { movement_id: 'movement', bag_id: 'bag' }
	},
	{
		name: 'energy_reading',
		where: `test_batch_id in (${TESTS}) or production_id in (${PRODUCED})`,
		ids: { id: 'energy_reading', test_batch_id: 'test_batch', production_id: 'production' },
		instants: ['read_at', 'recorded_at']
	},
	{
		name: 'colour',
		where: `test_batch_id in (${TESTS}) or production_id in (${PRODUCED})`,
		ids: { id: 'colour', test_batch_id: 'test_batch', production_id: 'production' },
		instants: ['at', 'recorded_at']
	},
	{
		...{ name: 'blend_part', where: ofLot, ids: { id: 'blend_part', lot_id: 'lot' } },
		...{ days: ['from_day'], set: { substitute_lot_ids: `'[]'` }, from: FIRST_BLENDED }
	},
	{
		...{ name: 'audit', where: ofLot, ids: { id: 'audit', lot_id: 'lot' } },
		...{ instants: ['at'], from: 1 }
	}
];

/**
 * Makes ten years of the demo roastery: today stays as it is, and before it lie copies of every lot that
 * was released, all their records with them, each copy five weeks older than the one before. What a copy
 * has left is written off, so that it is used up.
 */
export async function growToTenYears({ write }: Database): Promise<void> {
	await write(async (tx) => {
		await tx.run(sql`create temp table copy as
			with recursive c(n) as (select 1 union all select n + 1 from c where n < ${COPIES}) select n from c`);
		// All at the ids of before: what is copied is never copied again.
		const most = await mostIds(tx);
		const columns = new Map<string, readonly string[]>();
		for (const { name } of TABLES) columns.set(name, await columnsOf(tx, name));
		await tx.run(sql`create temp table ends as
			select lot_id, sum(mass_g) as left_g, max(at) as at from movement group by lot_id having left_g > 0`);
		for (const table of TABLES) {
			const at = `temp.of_${table.name}`;
			await tx.run(
				sql.raw(`create ${at.replace('temp.', 'temp table ')} as
				select * from "${table.name}" where ${table.where}`)
			);
		}
		for (const table of TABLES) await tx.run(insert(table, columns.get(table.name)!, most));
		await writeOff(tx, most);
		await olderRates(tx);
		await olderOrders(tx);
		for (const name of ['copy', 'ends', ...TABLES.map(({ name }) => `of_${name}`)])
			await tx.run(sql.raw(`drop table temp."${name}"`));
	});
}

async function mostIds(tx: Tx): Promise<ReadonlyMap<string, number>> {
	const names = new Set(TABLES.flatMap(({ ids }) => Object.values(ids)));
	const most = new Map<string, number>();
	for (const name of names) {
		const key = ['reading', 'fingerprint'].includes(name) ? 'sample_id' : 'id';
		const rows = await tx.all<{ most: number }>(
			sql.raw(`select coalesce(max("${key}"), 0) as most from "${name}"`)
		);
		most.set(name, rows[0]!.most);
	}
	return most;
}

async function columnsOf(tx: Tx, table: string): Promise<readonly string[]> {
	const rows = await tx.all<{ name: string }>(sql.raw(`pragma table_info("${table}")`));
	return rows.map(({ name }) => name);
}

function insert(
	table: CopiedTable,
	columns: readonly string[],
	most: ReadonlyMap<string, number>
): SQL {
	const valueOf = (column: string): string => {
		const set = table.set?.[column];
		if (set !== undefined) return set;
		const owner = table.ids[column];
		if (owner !== undefined) return `"${column}" + n * ${most.get(owner)!}`;
		if (table.instants?.includes(column)) return `"${column}" - n * ${MS_APART}`;
		if (table.days?.includes(column))
			return `date("${column}", '-' || (n * ${DAYS_APART}) || ' days')`;
		return `"${column}"`;
	};
	const names = columns.map((column) => `"${column}"`).join(', ');
	return sql.raw(`insert into "${table.name}" (${names})
		select ${columns.map(valueOf).join(', ')} from temp."of_${table.name}", temp.copy
		where n >= ${table.from ?? 1}`);
}

/** A movement of the ledger and of its bags that takes what a copy has left. */
async function writeOff(tx: Tx, most: ReadonlyMap<string, number>): Promise<void> {
	const [lots, bags] = [most.get('lot')!, most.get('bag')!];
	await tx.run(
		sql.raw(`insert into movement (lot_id, at, kind, mass_g, reason, recorded_at, "by")
			select lot_id + n * ${lots}, at - n * ${MS_APART} + 1, 'written off', -left_g, 'past crop',
				at - n * ${MS_APART} + 1, 'Ada'
			from temp.ends, temp.copy where lot_id in (select id from temp.of_lot)`)
	);
	await tx.run(
		sql.raw(`insert into bag_movement (movement_id, bag_id, mass_g, named)
			select m.id, b.bag_id, -b.left_g, 0 from
				(select bag_id, lot_id, sum(mass_g) as left_g from bag_movement
					join bag on bag.id = bag_movement.bag_id where bag_id > ${bags}
					group by bag_id having left_g > 0) b
				join movement m on m.lot_id = b.lot_id and m.reason = 'past crop'`)
	);
}

/** The oldest rate of each roaster holds before, too. */
async function olderRates(tx: Tx): Promise<void> {
	const columns = (await columnsOf(tx, 'cost_rate')).filter((name) => name !== 'id');
	const names = columns.map((name) => `"${name}"`);
	const values = names.map((name) => (name === '"from_day"' ? `'2010-01-01'` : name));
	await tx.run(
		sql.raw(`insert into cost_rate (${names.join(', ')}) select ${values.join(', ')} from cost_rate
			where from_day = (select min(r.from_day) from cost_rate r where r.roaster_id = cost_rate.roaster_id)`)
	);
}

/** Orders of the weeks before those that the demo has. */
async function olderOrders(tx: Tx): Promise<void> {
	const first = (await tx.all<{ week: string }>(sql`select min(week) as week from demand`))[0]!
		.week;
	for (let back = 1; back <= COPIES * WEEKS_APART; back += 1)
		await tx.run(sql`insert into demand (product_id, week, roasted_g, recorded_at, "by")
			select product_id, ${addWeeks(first, -back)}, roasted_g * 10, recorded_at, "by"
			from demand where week = ${first}`);
}
