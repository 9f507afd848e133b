import type { Reader } from '../../db/client.ts';
import type { InstantMs } from '#lib/domain/quantity/time.ts';
import * as batches from './batches.ts';
import * as cupping from './cupping.ts';
import * as derived from './derived.ts';
import * as ledger from './ledger.ts';
import * as lots from './lots.ts';
import * as roasting from './roasting.ts';
import * as setup from './setup.ts';
import { openSource, type ExportSource, type ExportTable } from './table.ts';

/** Every table that can be taken out, by its file. */

interface ExportSpec {
	readonly title: string;
	readonly about: string;
	/** Whether its headings are those of the import, so that it can come in again. */
	readonly comesIn: boolean;
	readonly load: (source: ExportSource) => Promise<ExportTable>;
}

const comesIn = (title: string, about: string, load: ExportSpec['load']): ExportSpec => ({
	...{ title, about, load },
	comesIn: true
});
const goesOut = (title: string, about: string, load: ExportSpec['load']): ExportSpec => ({
	...{ title, about, load },
	comesIn: false
});

const EXPORTS: Readonly<Record<string, ExportSpec>> = {
	'lots.csv': comesIn('Lots', 'each lot as it was entered', lots.lotsTable),
	'price_terms.csv': comesIn('Price terms', 'every version, oldest first', lots.priceTermsTable),
	'movements.csv': comesIn(
		'Movements',
		'receipts, green sold, written off, counted',
		lots.movementsTable
	),
	'invoices.csv': comesIn('Invoices', 'later costs and credits by lot', ledger.invoicesTable),
	'rates.csv': comesIn('Exchange rates', 'by day and pair', ledger.ratesTable),
	'measurements.csv': comesIn('Measurements', 'of green coffee', lots.measurementsTable),
	'samples.csv': comesIn('Sample roasts', 'with the names of their logs', lots.samplesTable),
	'tests.csv': comesIn('Test batches', 'as planned and as roasted', roasting.testsTable),
	'cuppings.csv': comesIn('Cuppings', 'single sheets of tests', roasting.cuppingsTable),
	'cupping_sessions.csv': comesIn(
		'Cupping sessions',
		'with the seeds of their codes',
		cupping.cuppingSessionsTable
	),
	'session_cups.csv': comesIn(
		'Cups of sessions',
		'what stood on the tables',
		cupping.sessionCupsTable
	),
	'session_sheets.csv': comesIn(
		'Sheets of sessions',
		'each cupper’s, finished or not',
		cupping.sessionSheetsTable
	),
	'verdicts.csv': comesIn('Verdicts', 'with their reasons', roasting.verdictsTable),
	'recoveries.csv': comesIn('Recoveries', 'what became of test coffee', roasting.recoveriesTable),
	'energy_readings.csv': comesIn(
		'Energy readings',
		'meters read for a batch',
		roasting.energyReadingsTable
	),
	'releases.csv': comesIn('Releases', 'with sign-off and descriptors', lots.releasesTable),
	'reopenings.csv': comesIn('Re-openings', 'released lots back to test', lots.reopeningsTable),
	'rejections.csv': comesIn('Rejections', 'lots turned down', lots.rejectionsTable),
	'production.csv': comesIn('Production', 'every batch', roasting.productionTable),
	'production_logs.csv': comesIn(
		'Logs of production',
		'the names of the logs, by batch',
		batches.productionLogsTable
	),
	'colours.csv': comesIn('Colour values', 'of tests and of production', batches.coloursTable),
	'recipes.csv': goesOut(
		'Recipes',
		'every version and what it holds batches to',
		batches.recipesTable
	),
	'demand.csv': comesIn('Orders', 'roasted kilograms by product and week', setup.demandTable),
	'products.csv': comesIn('Products', 'with shade and price', setup.productsTable),
	'blends.csv': comesIn('Blends', 'what products are made of, from when', setup.blendsTable),
	'suppliers.csv': comesIn('Suppliers', 'days from order to arrival', setup.suppliersTable),
	'roasters.csv': comesIn('Roasters', 'limits and minutes', setup.roastersTable),
	'shifts.csv': comesIn('Shifts', 'by roaster and weekday', setup.shiftsTable),
	'cost_rates.csv': comesIn('Cost rates', 'by roaster, from when', setup.costRatesTable),
	'site.csv': comesIn('Site', 'the settings of the roastery', setup.siteTable),
	'ledger.csv': goesOut('Stock ledger', 'every movement with its balance', lots.ledgerTable),
	'bags.csv': goesOut('Bags', 'what came in each and is left', ledger.bagsTable),
	'bag_ledger.csv': goesOut('Ledger by bag', 'every part of a movement', ledger.bagLedgerTable),
	'stock_value.csv': goesOut('Stock and its value', 'by both formulas', ledger.valuationTable),
	'cost_corrections.csv': goesOut(
		'Corrections of cost',
		'how later invoices and terms were shared',
		ledger.correctionsTable
	),
	'periods.csv': goesOut('Closed periods', 'by whom and when', ledger.periodsTable),
	'readings.csv': goesOut('Readings', 'what each sample log says', lots.readingsTable),
	'cupping_scores.csv': goesOut('Cupping scores', 'from the forms', roasting.scoresTable),
	'test_costs.csv': goesOut('Cost of tests', 'the statement, test by test', derived.testCostsTable),
	'landed_costs.csv': goesOut('Landed costs', 'by lot and term', derived.landedCostsTable),
	'standing.csv': goesOut('Where lots stand', 'stage, stock, release-by', derived.standingTable),
	'slots.csv': goesOut('Slots', 'of every planned week, with reasons', roasting.slotsTable)
};

export interface ExportEntry {
	readonly file: string;
	readonly title: string;
	readonly about: string;
	readonly comesIn: boolean;
}

/** The tables on offer, in the order in which they are listed. */
export function exportEntries(): ExportEntry[] {
	return Object.entries(EXPORTS).map(([file, { title, about, comesIn }]) => ({
		...{ file, title, about, comesIn }
	}));
}

/** One table, or null when there is none of that name. */
export async function loadExport(
	db: Reader,
	now: InstantMs,
	file: string
): Promise<ExportTable | null> {
	const spec = Object.hasOwn(EXPORTS, file) ? EXPORTS[file] : undefined;
	return spec ? spec.load(await openSource(db, now)) : null;
}
