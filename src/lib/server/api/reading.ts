import { loadLogBytes, loadSamples } from '../store/logs.ts';
import { findLot, loadLots } from '../store/lots.ts';
import { loadProducts, loadSlots } from '../store/production.ts';
import { loadSampleSummaries, type SampleSummary } from '../store/samples.ts';
import { loadRoasters } from '../store/site.ts';
import { findTest, loadTests, type TestRecord } from '../store/tests.ts';
import { loadStatement, NO_FILTER, type StatementLine } from '../views/cost.ts';
import { loadRoastery, type LotFacts } from '../views/roastery.ts';
import { operation, type Operation } from './operation.ts';
import { pageAfter } from './page.ts';
import { ApiProblem } from './problem.ts';
import * as s from './schemas.ts';

/** What a program may read. */

const iso = (instant: number) => new Date(instant).toISOString();
const isoOrNull = (instant: number | null | undefined) =>
	instant === null || instant === undefined ? null : iso(instant);

function lotOf({ lot, standing, events, releaseBy, ...facts }: LotFacts) {
	const { code, name, country, producer, supplier, variety, cropYear, organic, decaf } = lot;
	return {
		...{ code, name, country, producer, supplier, variety, cropYear, organic, decaf },
		kind: s.LOT.shape.kind.parse(lot.kind),
		stage: standing.stage,
		since: iso(standing.since),
		because: standing.because,
		nextStep: standing.nextStep,
		onHandG: events.onHandG,
		testsRoasted: facts.testsRoasted,
		testsWaiting: facts.testsWaiting,
		releaseBy: releaseBy?.releaseBy?.day ?? null,
		releaseByBecause: releaseBy?.releaseBy?.because ?? releaseBy?.reason ?? null
	};
}

function sampleOf(sample: SampleSummary) {
	const { id, lotCode, stage, by, fileName, reading } = sample;
	return {
		...{ id, lot: lotCode, stage, by, fileName },
		roastedAt: iso(sample.roastedAt),
		reading: reading && {
			method: reading.method,
			crack: reading.crack.verdict,
			crackS: reading.crack.peakS,
			crackC: reading.crack.temperatureC,
			shares: reading.shares,
			developmentS: reading.developmentS,
			dropS: reading.dropS,
			weightLoss: reading.weightLoss,
			sureness: reading.sureness
		}
	};
}

function testOf({ batch, lotCode, roast, verdict }: TestRecord, roaster: string) {
	return {
		...{ id: batch.id, lot: lotCode, number: batch.number, purpose: batch.purpose, roaster },
		plannedAt: iso(batch.plannedAt),
		plannedBy: batch.plannedBy,
		chargeG: roast?.chargeG ?? batch.settings.chargeG,
		roastedAt: isoOrNull(roast?.roastedAt),
		outG: roast?.outG ?? null,
		hasLog: (roast?.logId ?? null) !== null,
		verdict: s.TEST.shape.verdict.parse(verdict?.verdict ?? null)
	};
}

function costOf({ tests, greenG, machineS, cost, recovered, net }: Omit<StatementLine, 'key'>) {
	const amounts = { costMinor: cost.minor, recoveredMinor: recovered.minor, netMinor: net.minor };
	return { tests, greenG, machineS, ...amounts };
}

/** The codes that stand for ids. */
function codes(rows: readonly { readonly id: number; readonly code: string }[]) {
	return new Map(rows.map(({ id, code }) => [id, code]));
}

const reads = { method: 'GET', body: null } as const;

export const READING: readonly Operation[] = [
	operation({
		...reads,
		id: 'listLots',
		path: '/lots',
		summary: 'Lots with their stage, stock and release-by date, by code',
		params: s.NOTHING,
		query: s.LOTS_QUERY,
		answer: s.pageOf(s.LOT),
		refusals: [],
		async run({ act, query }) {
			const { lots } = await loadRoastery(act.database.orm, act.now);
			const asked = lots.filter(
				({ standing }) => query.stage === undefined || standing.stage === query.stage
			);
			const sorted = asked.toSorted((a, b) => (a.lot.code < b.lot.code ? -1 : 1));
			const page = pageAfter(sorted, ({ lot }) => lot.code, query);
			return { ...page, items: page.items.map(lotOf) };
		}
	}),
	operation({
		...reads,
		id: 'getLot',
		path: '/lots/{code}',
		summary: 'One lot',
		params: s.LOT_NAME,
		query: s.NOTHING,
		answer: s.LOT,
		refusals: [404],
		async run({ act, params }) {
			const { lots } = await loadRoastery(act.database.orm, act.now);
			const found = lots.find(({ lot }) => lot.code === params.code);
			if (!found) throw new ApiProblem(404, `There is no lot ${params.code}.`);
			return lotOf(found);
		}
	}),
	operation({
		...reads,
		id: 'listSamples',
		path: '/samples',
		summary: 'Sample roasts with what their logs say, oldest record first',
		params: s.NOTHING,
		query: s.OF_LOT_QUERY,
		answer: s.pageOf(s.SAMPLE),
		refusals: [],
		async run({ act, query }) {
			const samples = (await loadSampleSummaries(act.database.orm))
				.filter(({ lotCode }) => query.lot === undefined || lotCode === query.lot)
				.toSorted((a, b) => a.id - b.id);
			const page = pageAfter(samples, ({ id }) => id, query);
			return { ...page, items: page.items.map(sampleOf) };
		}
	}),
	operation({
		...reads,
		id: 'getSample',
		path: '/samples/{id}',
		summary: 'One sample roast',
		params: s.SAMPLE_NAME,
		query: s.NOTHING,
		answer: s.SAMPLE,
		refusals: [404],
		async run({ act, params }) {
			const samples = await loadSampleSummaries(act.database.orm);
			const found = samples.find(({ id }) => id === params.id);
			if (!found) throw new ApiProblem(404, `There is no sample ${params.id}.`);
			return sampleOf(found);
		}
	}),
	operation({
		...reads,
		id: 'getSampleLog',
		path: '/samples/{id}/log',
		summary: 'The log’s file of a sample roast, byte for byte as it came',
		params: s.SAMPLE_NAME,
		query: s.NOTHING,
		answer: 'file',
		refusals: [404],
		async run({ act, params }) {
			const [record] = await loadSamples(act.database.orm, { sampleId: params.id });
			const file = record ? await loadLogBytes(act.database.orm, record.sample.logId) : null;
			if (!file) throw new ApiProblem(404, `There is no sample ${params.id}.`);
			return file;
		}
	}),
	operation({
		...reads,
		id: 'listTests',
		path: '/tests',
		summary: 'Test batches, planned and roasted, oldest record first',
		params: s.NOTHING,
		query: s.OF_LOT_QUERY,
		answer: s.pageOf(s.TEST),
		refusals: [404],
		async run({ act, query }) {
			const db = act.database.orm;
			const lot = query.lot === undefined ? null : await findLot(db, query.lot);
			if (query.lot !== undefined && !lot)
				throw new ApiProblem(404, `There is no lot ${query.lot}.`);
			const [tests, roasters] = await Promise.all([
				loadTests(db, lot ? { lotId: lot.id } : {}),
				loadRoasters(db)
			]);
			const sorted = tests.toSorted((a, b) => a.batch.id - b.batch.id);
			const page = pageAfter(sorted, ({ batch }) => batch.id, query);
			const roasterCode = codes(roasters);
			const items = page.items.map((test) => testOf(test, roasterCode.get(test.batch.roasterId)!));
			return { ...page, items };
		}
	}),
	operation({
		...reads,
		id: 'getTestLog',
		path: '/tests/{lot}/{number}/log',
		summary: 'The log’s file of a test roast, byte for byte as it came',
		params: s.TEST_NAME,
		query: s.NOTHING,
		answer: 'file',
		refusals: [404],
		async run({ act, params }) {
			const db = act.database.orm;
			const logId = (await findTest(db, params.lot, params.number))?.roast?.logId ?? null;
			const file = logId === null ? null : await loadLogBytes(db, logId);
			if (!file)
				throw new ApiProblem(404, `There is no log of test ${params.lot}/${params.number}.`);
			return file;
		}
	}),
	operation({
		...reads,
		id: 'listSlots',
		path: '/weeks/{week}/slots',
		summary: 'The planned slots of a week, by roaster and start',
		params: s.WEEK_NAME,
		query: s.NOTHING,
		answer: s.pageOf(s.SLOT),
		refusals: [],
		async run({ act, params }) {
			const db = act.database.orm;
			const [slots, lots, products, roasters, tests] = await Promise.all([
				loadSlots(db, params.week),
				loadLots(db).then(codes),
				loadProducts(db).then(codes),
				loadRoasters(db).then(codes),
				loadTests(db)
			]);
			const numbers = new Map(tests.map(({ batch }) => [batch.id, batch.number]));
			const items = slots.map(({ id, kind, chargeG, locked, ...slot }) => ({
				...{ id, kind, chargeG, locked },
				roaster: roasters.get(slot.roasterId)!,
				startAt: iso(slot.startAt),
				endAt: iso(slot.endAt),
				lot: lots.get(slot.lotId)!,
				product: products.get(slot.productId ?? -1) ?? null,
				test: numbers.get(slot.testBatchId ?? -1) ?? null,
				dueAt: iso(slot.dueAt)
			}));
			return { items, next: null };
		}
	}),
	operation({
		...reads,
		id: 'getCosts',
		path: '/costs',
		summary: 'What testing cost, by lot, month or another cut',
		params: s.NOTHING,
		query: s.COSTS_QUERY,
		answer: s.COSTS,
		refusals: [],
		async run({ act, query: { by, period = null, lot = null } }) {
			const question = { cut: by, period, filter: { ...NO_FILTER, lot } };
			const statement = await loadStatement(act.database.orm, act.now, question);
			const { currency, from, to, lines, total, uncosted } = statement;
			return {
				...{ currency, by, from, to },
				lines: lines.map((line) => ({ key: line.key, name: line.name, ...costOf(line) })),
				total: costOf({ ...total, name: null, partial: false }),
				uncosted: uncosted.map(({ path, message }) => ({ path, message }))
			};
		}
	})
];
