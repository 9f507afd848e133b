import { loadBlendParts, loadDemand, loadProducts } from '../../store/production.ts';
import { loadCostRates, loadRoasters, loadShifts, loadSupplierLeads } from '../../store/site.ts';
import { kg, minor, real, scaled, timeOfDay, yesNo } from './cell.ts';
import { asImported, type ExportSource, type ExportTable } from './table.ts';

/** What the roastery is and has. */

export async function siteTable({ site }: ExportSource): Promise<ExportTable> {
	const { name, timeZone, currency } = site;
	return asImported('site.csv', [
		{
			...{ name, timeZone, currency },
			altitudeM: real(site.altitudeM),
			releaseLeadDays: real(site.releaseLeadDays),
			cuppingLagHours: real(site.cuppingLagHours),
			testCycleDays: real(site.testCycleDays),
			supplierLeadDays: real(site.supplierLeadDays)
		}
	]);
}

export async function roastersTable({ db }: ExportSource): Promise<ExportTable> {
	const roasters = await loadRoasters(db);
	return asImported(
		'roasters.csv',
		roasters.map(({ code, name, note, ...roaster }) => ({
			...{ code, name, note },
			minChargeG: kg(roaster.minChargeG),
			maxChargeG: kg(roaster.maxChargeG),
			warmUpMin: real(roaster.warmUpMin),
			cycleMin: real(roaster.cycleMin),
			roastMin: real(roaster.roastMin),
			cleaningMin: real(roaster.cleaningMin),
			gasMinPct: real(roaster.gasMinPct),
			gasMaxPct: real(roaster.gasMaxPct),
			gasStepPct: real(roaster.gasStepPct)
		}))
	);
}

export async function shiftsTable({ db, roasterCode }: ExportSource): Promise<ExportTable> {
	const shifts = await loadShifts(db);
	return asImported(
		'shifts.csv',
		shifts.map((shift) => ({
			roaster: roasterCode(shift.roasterId),
			weekday: real(shift.weekday),
			startMin: timeOfDay(shift.startMin),
			endMin: timeOfDay(shift.endMin)
		}))
	);
}

export async function costRatesTable({ db, roasterCode }: ExportSource): Promise<ExportTable> {
	const rates = await loadCostRates(db);
	return asImported(
		'cost_rates.csv',
		rates.map(({ fromDay, currency, ...rate }) => ({
			...{ fromDay, currency },
			roaster: roasterCode(rate.roasterId),
			energyKwhPerBatch: real(rate.energyKwhPerBatch),
			energyKwhPerKgGreen: real(rate.energyKwhPerKgGreen),
			energyPriceE4PerKwh: scaled(rate.energyPriceE4PerKwh, 4),
			labourMinorPerHour: minor(rate.labourMinorPerHour, currency),
			machineMinorPerHour: minor(rate.machineMinorPerHour, currency),
			qualityMinorPerHour: minor(rate.qualityMinorPerHour, currency),
			labourMinPerBatch: real(rate.labourMinPerBatch),
			qualityMinPerTest: real(rate.qualityMinPerTest),
			powerKwhPerBatch: real(rate.powerKwhPerBatch),
			powerKwhPerKgGreen: real(rate.powerKwhPerKgGreen),
			powerPriceE4PerKwh: scaled(rate.powerPriceE4PerKwh, 4),
			machineCostMinor: minor(rate.machineCostMinor, currency),
			machineResidualMinor: minor(rate.machineResidualMinor, currency),
			machineLifeYears: real(rate.machineLifeYears),
			machineHoursPerYear: real(rate.machineHoursPerYear)
		}))
	);
}

export async function productsTable({ db, site }: ExportSource): Promise<ExportTable> {
	const products = await loadProducts(db);
	return asImported(
		'products.csv',
		products.map(({ code, name, shade, priceMinorPerKg, verdictRule }) => ({
			...{ code, name, shade },
			priceMinorPerKg: minor(priceMinorPerKg, site.currency),
			ruleForm: verdictRule?.form ?? null,
			ruleMinScore: real(verdictRule?.minScore ?? null),
			ruleMaxSpread: real(verdictRule?.maxSpread ?? null),
			ruleNoFaultCups: yesNo(verdictRule?.noFaultCups ?? false)
		}))
	);
}

export async function blendsTable(source: ExportSource): Promise<ExportTable> {
	const parts = await loadBlendParts(source.db);
	return asImported(
		'blends.csv',
		parts.map((part) => ({
			product: source.productCode(part.productId),
			fromDay: part.fromDay,
			lot: source.lotCode(part.lotId),
			sharePermille: scaled(part.sharePermille, 1),
			leastPermille: scaled(part.leastPermille, 1),
			mostPermille: scaled(part.mostPermille, 1),
			substitutes: part.substituteLotIds.map((id) => source.lotCode(id)).join('; ')
		}))
	);
}

export async function demandTable({ db, productCode }: ExportSource): Promise<ExportTable> {
	const demand = await loadDemand(db, '');
	return asImported(
		'demand.csv',
		demand.map((row) => ({
			product: productCode(row.productId),
			week: row.week,
			roastedG: kg(row.roastedG)
		}))
	);
}

export async function suppliersTable({ db }: ExportSource): Promise<ExportTable> {
	const leads = await loadSupplierLeads(db);
	return asImported(
		'suppliers.csv',
		leads.map(({ supplier, leadDays }) => ({ supplier, leadDays: real(leadDays) }))
	);
}
