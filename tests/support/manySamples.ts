import { sql } from 'drizzle-orm';
import { perform, type Act } from '#lib/server/commands/act.ts';
import { createLot } from '#lib/server/commands/createLot.ts';
import { recordSample } from '#lib/server/commands/recordSample.ts';
import type { Database } from '#lib/server/db/client.ts';
import { demoLog, done, lotInput } from '#support/smallRoastery.ts';

/** Logs of the demo roastery. */
export const LOGS = ['HR-131', 'HR-133', 'HR-140'] as const;

/** Records one pre-shipment sample of a lot of its own for each log; gives the samples' ids. */
export async function recordSamples(act: Act, logs: readonly string[] = LOGS): Promise<number[]> {
	const ids: number[] = [];
	for (const [index, name] of logs.entries()) {
		const lot = done(await perform(act, (deed) => createLot(deed, lotInput(`L-${name}`))));
		const sample = await perform(act, (deed) =>
			recordSample(deed, {
				lotId: lot.lotId,
				stage: 'pre-shipment',
				roastedAt: act.now - (index + 1) * 86_400_000,
				...{ chargeG: 50, outG: 43, airFlowGS: 4, sensorLagS: 11.2, earCrackS: null, note: '' },
				file: demoLog(`samples/${name}-arrival.csv`)
			})
		);
		ids.push(done(sample).sampleId);
	}
	return ids;
}

/** Copies every sample with its log, reading and fingerprint, so that there are `times` as many. */
export async function copySamples({ write }: Database, times: number): Promise<void> {
	await write(async (tx) => {
		const most = await tx.all<{ log: number; sample: number }>(
			sql`select (select max(id) from roast_log) log, (select max(id) from sample_roast) sample`
		);
		const { log, sample } = most[0]!;
		const copies = sql`with recursive copy(n) as (select 1 union all select n + 1 from copy where n < ${times - 1})`;
		await tx.run(sql`${copies} insert into roast_log
			select id + n * ${log}, kind, file_name, sha256 || '-' || n, bytes, mapping, marks, rows, notes, recorded_at, "by"
			from roast_log, copy where id <= ${log}`);
		await tx.run(sql`${copies} insert into roast_log_column
			select log_id + n * ${log}, channel, "values" from roast_log_column, copy where log_id <= ${log}`);
		await tx.run(sql`${copies} insert into sample_roast
			select id + n * ${sample}, lot_id, stage, roasted_at, charge_g, out_g, air_flow_g_s, sensor_lag_s,
				ear_crack_s, log_id + n * ${log}, note, "by", recorded_at
			from sample_roast, copy where id <= ${sample}`);
		await tx.run(sql`${copies} insert into reading
			select sample_id + n * ${sample}, method, result, problems, made_at from reading, copy where sample_id <= ${sample}`);
		await tx.run(sql`${copies} insert into fingerprint
			select sample_id + n * ${sample}, method, reading_method, axis, curve, known_from_c, known_to_c, features,
				problems, made_at from fingerprint, copy where sample_id <= ${sample}`);
	});
}
