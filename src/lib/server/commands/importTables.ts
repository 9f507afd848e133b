import { and, eq } from 'drizzle-orm';
import { bad, good, type Outcome, type Problem } from '#lib/domain/quantity/problem.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import { instantAt } from '#lib/domain/quantity/week.ts';
import { lot, product, production, roaster, testBatch } from '../db/schema.ts';
import { signedParts } from '../imports/bagCell.ts';
import { instantOf } from '../imports/cells.ts';
import { sniffLog } from '../imports/logFile.ts';
import { logInput, type LogInput } from '../imports/parseLog.ts';
import { readTable, type TableRow } from '../imports/tableFile.ts';
import { TABLES, type RecordOf, type TableFile } from '../imports/tables.ts';
import { loadMappingMemories } from '../store/intake.ts';
import { loadSite, requireSite } from '../store/site.ts';
import { note, perform, type Act, type Deed } from './act.ts';
import { addProductionLog } from './addLog.ts';
import { createLot } from './createLot.ts';
import { giveVerdict } from './giveVerdict.ts';
import { pastSessions, type PastSession } from './importSessions.ts';
import { planTest } from './planTest.ts';
import { readMeters } from './readMeters.ts';
import { recordColour } from './recordColour.ts';
import { recordCupping } from './recordCupping.ts';
import { recordInvoice } from './recordInvoice.ts';
import { recordMeasurement } from './recordMeasurement.ts';
import { recordMovement } from './recordMovement.ts';
import { recordPriceTerms } from './recordPriceTerms.ts';
import { recordProduction, type ProductionInput } from './recordProduction.ts';
import { recordRecovery } from './recordRecovery.ts';
import { recordSample } from './recordSample.ts';
import { recordTestRoast } from './recordTestRoast.ts';
import { releaseLot } from './releaseLot.ts';
import { saveBlend } from './saveBlend.ts';
import { saveCostRate } from './saveCostRate.ts';
import { saveDemand } from './saveDemand.ts';
import { saveExchangeRate } from './saveExchangeRate.ts';
import { saveProduct } from './saveProduct.ts';
import { saveRoaster } from './saveRoaster.ts';
import { saveShifts } from './saveShifts.ts';
import { saveSite } from './saveSite.ts';
import { saveSupplierLead } from './saveSupplierLead.ts';
import { turnLot } from './turnLot.ts';

/**
 * Takes a roastery's tables and log files in. Rules:
 * 1. All files or none.
 * 2. Every row goes through the same act as a form would, in the order in which things happened, so that
 *    stages and the ledger hold at every moment of the past.
 * 3. A problem names file and row.
 * 4. A file that nothing names is a problem too: nothing that was handed in is left out unseen.
 */
export interface RoasteryFiles {
	readonly tables: Partial<Record<TableFile, Uint8Array>>;
	/** Log files by the path that the tables name them by, or by the end of that path. */
	readonly logs: ReadonlyMap<string, Uint8Array>;
	/** Whole weeks to move every date by, in days. */
	readonly shiftDays?: number;
}

export interface ImportCounts {
	readonly rows: number;
	readonly logs: number;
}

type Tables = { readonly [F in TableFile]: readonly TableRow<RecordOf<(typeof TABLES)[F]>>[] };

/** One thing that happened, to be done again in its order. */
interface Happening {
	readonly lotId: number;
	readonly at: InstantMs;
	/** Breaks ties: what comes first when two things share a minute. */
	readonly rank: number;
	readonly where: string;
	readonly by: string;
	readonly run?: (deed: Deed) => Promise<Outcome<unknown>>;
	/** A production batch: those of a lot that follow each other are recorded together. */
	readonly batch?: ProductionInput;
}

/** Reads every file, then does what they say in one transaction. */
export async function importTables(act: Act, files: RoasteryFiles): Promise<Outcome<ImportCounts>> {
	const tables = await readTables(act, files);
	if (!tables.ok) return tables;
	const logs = await readLogs(act, tables.value, files.logs);
	if (!logs.ok) return logs;
	const rows = Object.values(tables.value).reduce((sum, table) => sum + table.length, 0);
	return perform(act, async (deed) => {
		// What the files say was done by others: the right that is asked for is the one to take tables in.
		const { userId, name } = act.actor;
		const importing: Deed = { ...deed, actor: { userId, name, role: 'owner' } };
		const done = await applyAll(importing, tables.value, logs.value);
		if (!done.ok) return done;
		const counts = { rows, logs: logs.value.size };
		await note(deed, 'import tables', null, { ...counts, tables: Object.keys(files.tables) });
		return good(counts);
	});
}

async function readTables(act: Act, files: RoasteryFiles): Promise<Outcome<Tables>> {
	const problems: Problem[] = [];
	const tables: Partial<Record<TableFile, readonly TableRow<unknown>[]>> = {};
	let siteCurrency = (await loadSite(act.database.orm))?.currency;
	if (!siteCurrency && !files.tables['site.csv'])
		return bad({ path: 'site.csv', message: 'Expected it: the site is not set up yet.' });
	for (const file of Object.keys(TABLES) as TableFile[]) {
		const bytes = files.tables[file];
		tables[file] = [];
		if (!bytes) continue;
		const options = { shiftDays: files.shiftDays ?? 0, ...(siteCurrency ? { siteCurrency } : {}) };
		const read = readTable(bytes, file, TABLES[file] as never, options);
		if (!read.ok) {
			problems.push(...read.problems);
			continue;
		}
		tables[file] = read.value.rows;
		if (file === 'site.csv')
			siteCurrency = (read.value.rows[0]?.value as { currency: string } | undefined)?.currency;
	}
	if (!siteCurrency && problems.length === 0)
		problems.push({ path: 'site.csv', message: 'Found no row, expected one.' });
	return problems.length > 0 ? bad(...problems) : good(tables as Tables);
}

async function readLogs(
	act: Act,
	tables: Tables,
	files: ReadonlyMap<string, Uint8Array>
): Promise<Outcome<Map<string, LogInput>>> {
	const memories = await loadMappingMemories(act.database.orm);
	const logs = new Map<string, LogInput>();
	const problems: Problem[] = [];
	const used = new Set<string>();
	const named = [
		...tables['samples.csv'].map((r) => ['samples.csv', r.row, r.value.logFile] as const),
		...tables['tests.csv'].map(
			(r) => ['tests.csv', r.row, r.value.roast?.logFile ?? null] as const
		),
		...tables['production_logs.csv'].map(
			(r) => ['production_logs.csv', r.row, r.value.logFile] as const
		)
	];
	for (const [table, row, path] of named) {
		if (path === null) continue;
		const name = files.has(path) ? path : baseName(path);
		const bytes = files.get(name);
		if (!bytes) {
			problems.push({ path: `${table} row ${row}`, message: `The log file ${path} is missing.` });
			continue;
		}
		used.add(name);
		const preview = sniffLog(bytes, path, memories);
		if (!preview.mapping || preview.problems.length > 0) {
			problems.push(...preview.problems);
			continue;
		}
		const parsed = logInput(path, bytes, preview.mapping);
		if (parsed.ok) logs.set(path, parsed.value);
		else problems.push(...parsed.problems);
	}
	for (const path of files.keys())
		if (!used.has(path))
			problems.push({
				path,
				message: 'No row of samples.csv, tests.csv or production_logs.csv names this file.'
			});
	return problems.length > 0 ? bad(...problems) : good(logs);
}

/** A browser sends a file's name without its folder. */
function baseName(path: string): string {
	return path.slice(path.lastIndexOf('/') + 1);
}

async function applyAll(
	deed: Deed,
	tables: Tables,
	logs: ReadonlyMap<string, LogInput>
): Promise<Outcome<null>> {
	const standing = await applyStanding(deed, tables);
	if (!standing.ok) return standing;
	const site = await requireSite(deed.tx);
	const names = await loadNames(deed);
	const happened = happenings(tables, logs, names, site.timeZone, deed.now);
	if (!happened.ok) return happened;
	const sessions = pastSessions(tables, names.lots, site.timeZone, deed.now);
	if (!sessions.ok) return sessions;
	return reliveAll(deed, happened.value, sessions.value);
}

/** Does everything again: lot by lot, but no lot goes on past a cupping session that has not been yet. */
async function reliveAll(
	deed: Deed,
	happened: readonly Happening[],
	sessions: readonly PastSession[]
): Promise<Outcome<null>> {
	let from = 0;
	for (const session of [...sessions, null]) {
		const later = session ? happened.findIndex(({ at }) => at > session.at) : -1;
		const until = later < 0 ? happened.length : later;
		const before = happened.slice(from, until);
		for (const [lotId, ofLot] of Map.groupBy(before, (each) => each.lotId)) {
			const done = await relive(deed, lotId, ofLot);
			if (!done.ok) return done;
		}
		const held = session ? await session.run(deed) : good(null);
		if (!held.ok) return held;
		from = Math.max(from, until);
	}
	return good(null);
}

/** Does what happened to one lot again. Every rule concerns one lot, so lots need not interleave. */
async function relive(
	deed: Deed,
	lotId: number,
	happened: readonly Happening[]
): Promise<Outcome<null>> {
	let i = 0;
	while (i < happened.length) {
		const each = happened[i]!;
		const end = each.batch ? happened.findIndex((h, j) => j > i && !h.batch) : i + 1;
		const group = happened.slice(i, end < 0 ? undefined : end);
		const batches = group.flatMap((h) => (h.batch ? [h.batch] : []));
		const outcome = each.run
			? await each.run({ ...deed, by: each.by })
			: await recordProduction({ ...deed, by: each.by }, lotId, batches);
		if (!outcome.ok) return located(outcome.problems, each.where);
		i += group.length;
	}
	return good(null);
}

function noSuch({ product: p, roaster: r }: { product: string; roaster: string }): Outcome<never> {
	return bad({ path: 'product, roaster', message: `There is no product ${p} or no roaster ${r}.` });
}

/** Puts the file and row before each problem's own field. */
function located(problems: readonly Problem[], where: string): Outcome<never> {
	return bad(...problems.map((p) => ({ path: `${where}, ${p.path}`, message: p.message })));
}

/** The records that have no moment: site, roasters, products, lots, blends, demand. */
async function applyStanding(deed: Deed, tables: Tables): Promise<Outcome<null>> {
	const problems: Problem[] = [];
	const each = async <T>(
		file: TableFile,
		rows: readonly TableRow<T>[],
		run: (value: T) => Promise<Outcome<unknown>>
	) => {
		for (const { row, value } of rows) {
			const outcome = await run(value);
			if (!outcome.ok)
				for (const p of outcome.problems)
					problems.push({ path: `${file} row ${row}, ${p.path}`, message: p.message });
		}
	};
	await each('site.csv', tables['site.csv'], (value) => saveSite(deed, value));
	if (!(await loadSite(deed.tx))) return bad(...problems);
	const zone = (await requireSite(deed.tx)).timeZone;
	await each('roasters.csv', tables['roasters.csv'], (value) => saveRoaster(deed, value));
	await each('rates.csv', tables['rates.csv'], (value) => saveExchangeRate(deed, value));
	await each('products.csv', tables['products.csv'], (value) => saveProduct(deed, value));
	await each('lots.csv', tables['lots.csv'], ({ createdAt, ...value }) =>
		createLot(deed, { ...value, createdAt: createdAt ? instantOf(createdAt, zone) : null })
	);
	await each('suppliers.csv', tables['suppliers.csv'], (value) => saveSupplierLead(deed, value));
	const names = await loadNames(deed);
	await each('cost_rates.csv', tables['cost_rates.csv'], ({ roaster: code, ...value }) =>
		withId(names.roasters, 'roaster', code, (roasterId) =>
			saveCostRate(deed, { ...value, roasterId })
		)
	);
	await applyShifts(deed, tables['shifts.csv'], names, problems);
	await applyBlends(deed, tables['blends.csv'], names, problems);
	await each('demand.csv', tables['demand.csv'], ({ product: code, ...value }) =>
		withId(names.products, 'product', code, (productId) =>
			saveDemand(deed, { ...value, productId })
		)
	);
	return problems.length > 0 ? bad(...problems) : good(null);
}

async function applyShifts(
	deed: Deed,
	rows: Tables['shifts.csv'],
	names: Names,
	problems: Problem[]
): Promise<void> {
	for (const [code, ofRoaster] of Map.groupBy(rows, (r) => r.value.roaster)) {
		const where = `shifts.csv row ${ofRoaster[0]!.row}`;
		const outcome = await withId(names.roasters, 'roaster', code, (roasterId) =>
			saveShifts(
				deed,
				roasterId,
				ofRoaster.map(({ value }) => ({
					weekday: value.weekday,
					startMin: value.startMin,
					endMin: value.endMin
				}))
			)
		);
		if (!outcome.ok)
			problems.push(...outcome.problems.map((p) => ({ ...p, path: `${where}, ${p.path}` })));
	}
}

async function applyBlends(
	deed: Deed,
	rows: Tables['blends.csv'],
	names: Names,
	problems: Problem[]
): Promise<void> {
	for (const block of Map.groupBy(rows, (r) => `${r.value.product} ${r.value.fromDay}`).values()) {
		const { row, value } = block[0]!;
		const parts = block.map((r) => ({
			lotId: names.lots.get(r.value.lot) ?? 0,
			sharePermille: r.value.sharePermille,
			leastPermille: r.value.leastPermille,
			mostPermille: r.value.mostPermille,
			substituteLotIds: r.value.substitutes.map((code) => names.lots.get(code) ?? 0)
		}));
		const unknown = block
			.flatMap((r) => [
				{ path: 'lot', code: r.value.lot },
				...r.value.substitutes.map((code) => ({ path: 'substitutes', code }))
			])
			.find(({ code }) => !names.lots.has(code));
		const outcome = unknown
			? bad({ path: unknown.path, message: `There is no lot ${unknown.code}.` })
			: await withId(names.products, 'product', value.product, (productId) =>
					saveBlend(deed, { productId, fromDay: value.fromDay, parts })
				);
		if (!outcome.ok)
			problems.push(
				...outcome.problems.map((p) => ({ ...p, path: `blends.csv row ${row}, ${p.path}` }))
			);
	}
}

interface Names {
	readonly roasters: ReadonlyMap<string, number>;
	readonly products: ReadonlyMap<string, number>;
	readonly lots: ReadonlyMap<string, number>;
}

async function loadNames({ tx }: Deed): Promise<Names> {
	const byCode = (rows: { id: number; code: string }[]) => new Map(rows.map((r) => [r.code, r.id]));
	return {
		roasters: byCode(await tx.select({ id: roaster.id, code: roaster.code }).from(roaster)),
		products: byCode(await tx.select({ id: product.id, code: product.code }).from(product)),
		lots: byCode(await tx.select({ id: lot.id, code: lot.code }).from(lot))
	};
}

async function withId<T>(
	ids: ReadonlyMap<string, number>,
	what: string,
	code: string,
	run: (id: number) => Promise<Outcome<T>>
): Promise<Outcome<T>> {
	const id = ids.get(code);
	if (id === undefined) return bad({ path: what, message: `There is no ${what} ${code}.` });
	return run(id);
}

/** Finds a test by its number; it was planned by an earlier happening or before this import. */
async function withTest<T>(
	deed: Deed,
	lotId: number,
	number: number,
	run: (testBatchId: number) => Promise<Outcome<T>>
): Promise<Outcome<T>> {
	const rows = await deed.tx
		.select({ id: testBatch.id, number: testBatch.number })
		.from(testBatch)
		.where(eq(testBatch.lotId, lotId));
	const id = rows.find((r) => r.number === number)?.id;
	if (id === undefined) return bad({ path: 'test', message: `The lot has no test ${number}.` });
	return run(id);
}

/** Finds a production batch by its lot, roaster and time. */
async function withProduction<T>(
	deed: Deed,
	lotId: number,
	roasterId: number,
	roastedAt: InstantMs,
	run: (productionId: number) => Promise<Outcome<T>>
): Promise<Outcome<T>> {
	const rows = await deed.tx
		.select({ id: production.id })
		.from(production)
		.where(
			and(
				eq(production.lotId, lotId),
				eq(production.roasterId, roasterId),
				eq(production.roastedAt, roastedAt)
			)
		);
	const id = rows[0]?.id;
	if (id === undefined)
		return bad({
			path: 'roasted_at',
			message: 'No batch of this lot was roasted on that roaster then.'
		});
	return run(id);
}

/** Everything with a moment, in order. Problems: codes that are nowhere. */
function happenings(
	tables: Tables,
	logs: ReadonlyMap<string, LogInput>,
	names: Names,
	zone: string,
	now: InstantMs
): Outcome<Happening[]> {
	const list: Happening[] = [];
	const problems: Problem[] = [];
	let rank = 0;
	const add = <T extends { readonly lot: string }>(
		file: TableFile,
		rows: readonly TableRow<T>[],
		make: (value: T, lotId: number) => Omit<Happening, 'lotId' | 'rank' | 'where'> | null
	) => {
		rank += 1;
		for (const { row, value } of rows) {
			const lotId = names.lots.get(value.lot);
			const where = `${file} row ${row}`;
			if (lotId === undefined) {
				problems.push({ path: `${where}, lot`, message: `There is no lot ${value.lot}.` });
				continue;
			}
			const made = make(value, lotId);
			if (made) list.push({ ...made, lotId, rank, where });
		}
	};
	const at = (local: string) => instantOf(local, zone);

	add('price_terms.csv', tables['price_terms.csv'], ({ lot: _, ...value }, lotId) => ({
		at: instantAt(value.agreedOn, 0, zone),
		by: 'import',
		run: (deed) => recordPriceTerms(deed, { ...value, lotId })
	}));
	add('measurements.csv', tables['measurements.csv'], ({ lot: _, by, ...value }, lotId) => ({
		at: at(value.at),
		by,
		run: (deed) => recordMeasurement(deed, { ...value, lotId, at: at(value.at) })
	}));
	add('invoices.csv', tables['invoices.csv'], ({ lot: _, by, ...value }, lotId) => ({
		at: instantAt(value.day, 0, zone),
		by,
		run: (deed) => recordInvoice(deed, { ...value, lotId })
	}));
	add('movements.csv', tables['movements.csv'], ({ lot: _, by, ...value }, lotId) => ({
		at: at(value.at),
		by,
		run: (deed) => {
			const bags = signedParts(value.kind, value.bags);
			return recordMovement(deed, lotId, { ...value, bags, at: at(value.at) });
		}
	}));
	add('samples.csv', tables['samples.csv'], ({ lot: _, by, logFile, ...value }, lotId) => ({
		at: at(value.roastedAt),
		by,
		run: (deed) =>
			recordSample(deed, {
				...value,
				lotId,
				roastedAt: at(value.roastedAt),
				file: logs.get(logFile)!
			})
	}));
	add('tests.csv', tables['tests.csv'], (value, lotId) => ({
		at: at(value.plannedAt),
		by: value.plannedBy,
		run: (deed) =>
			withId(names.roasters, 'roaster', value.roaster, async (roasterId) => {
				const planned = await planTest(deed, {
					lotId,
					plannedAt: at(value.plannedAt),
					purpose: value.purpose,
					change: value.change,
					roasterId,
					settings: value.settings
				});
				if (planned.ok && planned.value.number !== value.number)
					return bad({
						path: 'number',
						message: `Found test ${value.number}, expected ${planned.value.number}: tests are numbered in the order they are planned.`
					});
				return planned;
			})
	}));
	add('tests.csv', tables['tests.csv'], ({ number, roast, settings }, lotId) =>
		roast === null
			? null
			: {
					at: at(roast.roastedAt),
					by: roast.by,
					run: (deed) =>
						withTest(deed, lotId, number, (testBatchId) =>
							recordTestRoast(deed, {
								testBatchId,
								roastedAt: at(roast.roastedAt),
								chargeG: settings.chargeG,
								outG: roast.outG,
								note: roast.note,
								file: roast.logFile === null ? null : logs.get(roast.logFile)!
							})
						)
				}
	);
	add('cuppings.csv', tables['cuppings.csv'], ({ test, by, cuppedAt, sheet, ...value }, lotId) => ({
		at: at(cuppedAt),
		by,
		run: (deed) =>
			withTest(deed, lotId, test, (testBatchId) =>
				recordCupping(deed, {
					testBatchId,
					cuppedAt: at(cuppedAt),
					sheet,
					descriptors: value.descriptors,
					note: value.note
				})
			)
	}));
	add('verdicts.csv', tables['verdicts.csv'], ({ test, by, ...value }, lotId) => ({
		at: at(value.at),
		by,
		run: (deed) =>
			withTest(deed, lotId, test, (testBatchId) =>
				giveVerdict(deed, {
					testBatchId,
					at: at(value.at),
					verdict: value.verdict,
					reason: value.reason,
					againstReason: value.againstReason
				})
			)
	}));
	add(
		'recoveries.csv',
		tables['recoveries.csv'],
		({ test, by, product: code, ...value }, lotId) => ({
			at: at(value.at),
			by,
			run: (deed) =>
				withTest(deed, lotId, test, async (testBatchId) => {
					const productId = code === null ? null : names.products.get(code);
					if (productId === undefined)
						return bad({ path: 'product', message: `There is no product ${code}.` });
					return recordRecovery(deed, {
						testBatchId,
						at: at(value.at),
						kind: value.kind,
						massG: value.massG,
						valueMinor: value.valueMinor,
						productId
					});
				})
		})
	);
	add('energy_readings.csv', tables['energy_readings.csv'], ({ test, ...value }, lotId) => ({
		at: at(value.at),
		by: value.by,
		run: (deed) => {
			const meters = { readAt: at(value.at), gasWh: value.gasWh, powerWh: value.powerWh };
			if (test !== null)
				return withTest(deed, lotId, test, (testBatchId) =>
					readMeters(deed, { batch: { testBatchId }, ...meters })
				);
			const roasterId = names.roasters.get(value.roaster ?? '') ?? 0;
			return withProduction(deed, lotId, roasterId, at(value.roastedAt!), (productionId) =>
				readMeters(deed, { batch: { productionId }, ...meters })
			);
		}
	}));
	add('releases.csv', tables['releases.csv'], ({ lot: _, test: _test, ...value }, lotId) => ({
		at: at(value.at),
		by: value.roastingBy,
		run: (deed) => releaseLot(deed, { ...value, lotId, at: at(value.at) })
	}));
	for (const [file, turned] of [
		['reopenings.csv', 'reopened'],
		['rejections.csv', 'rejected']
	] as const)
		add(file, tables[file], ({ by, reason, at: local }, lotId) => ({
			at: at(local),
			by,
			run: (deed) => turnLot(deed, { lotId, at: at(local), turn: turned, reason })
		}));
	add('production.csv', tables['production.csv'], (value) => {
		const productId = names.products.get(value.product);
		const roasterId = names.roasters.get(value.roaster);
		const { chargeG, outG, by } = value;
		const roastedAt = at(value.roastedAt);
		if (productId === undefined || roasterId === undefined)
			return { at: roastedAt, by, run: async () => noSuch(value) };
		return { at: roastedAt, by, batch: { productId, roasterId, roastedAt, chargeG, outG, by } };
	});
	// These change no stage and no stock, so they come last: a lot's batches stay together.
	add('production_logs.csv', tables['production_logs.csv'], (value, lotId) => ({
		at: now,
		by: value.by,
		run: (deed) =>
			withId(names.roasters, 'roaster', value.roaster, (roasterId) =>
				withProduction(deed, lotId, roasterId, at(value.roastedAt), (productionId) =>
					addProductionLog(deed, { productionId, file: logs.get(value.logFile)! })
				)
			)
	}));
	add('colours.csv', tables['colours.csv'], ({ test, ...value }, lotId) => ({
		at: test === null ? now : at(value.at),
		by: value.by,
		run: (deed) => {
			const measured = { value: value.value, scale: value.scale, at: at(value.at) };
			if (test !== null)
				return withTest(deed, lotId, test, (testBatchId) =>
					recordColour(deed, { ...measured, of: { testBatchId } })
				);
			return withId(names.roasters, 'roaster', value.roaster!, (roasterId) =>
				withProduction(deed, lotId, roasterId, at(value.roastedAt!), (productionId) =>
					recordColour(deed, { ...measured, of: { productionId } })
				)
			);
		}
	}));
	for (const each of list)
		if (each.at > now)
			problems.push({
				path: each.where,
				message: `It happened at ${new Date(each.at).toISOString()}, which is still to come.`
			});
	if (problems.length > 0) return bad(...problems);
	return good(list.sort((a, b) => a.at - b.at || a.rank - b.rank));
}
