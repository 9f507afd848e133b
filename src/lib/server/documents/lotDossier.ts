import type { Content, TDocumentDefinitions } from 'pdfmake/interfaces.js';
import { BATCH_ITEMS } from '#lib/domain/cost/batch.ts';
import type { PanelResult } from '#lib/domain/trial/panel.ts';
import type { Dossier } from '../views/dossier.ts';
import { dayWords, momentWords } from '../views/words.ts';
import { factColumns, paper, remark, ruledTable, section, SOFT } from './paper.ts';
import { releaseChart } from './releaseChart.ts';
import { clockText, fixed, kgText, MISSING, moneyText, percent, withUnit } from './text.ts';

/** All that is known of one lot, to hand to a colleague. */

type Lot = Dossier['lot'];

export function lotDossier({ siteName, madeAt, lot }: Dossier): TDocumentDefinitions {
	const { code, name } = lot.row;
	return paper(
		{
			title: `Lot ${code}`,
			about: `Lot ${code} ${name}`,
			...{ siteName, madeAt },
			orientation: 'portrait'
		},
		[
			...head(lot, siteName),
			...sampleRoast(lot),
			...measurements(lot),
			...tests(lot),
			...recipe(lot),
			...stock(lot),
			...cost(lot)
		]
	);
}

function head(
	{ row, facts, note, since, terms, cost, forecast }: Lot,
	siteName: string
): Content[] {
	const due = row.due;
	const lead: [string, string][] = [
		['Stage', `${row.stage} since ${dayWords(since)}. ${row.because}`],
		['Next step', row.next?.words ?? 'Nothing is to be done.']
	];
	if (due)
		lead.push([
			'Release by',
			due.day
				? `${dayWords(due.day)} (${daysText(due.daysLeft)}). ${due.because}${chanceText(due.chanceInTime)}`
				: `No date. ${due.because}`
		]);
	const outlook = forecast.remaining;
	if (outlook)
		lead.push([
			'Tests to come',
			`${fixed(outlook.mean, 1)} expected, ${outlook.low} to ${outlook.high} likely. ${outlook.basis}`
		]);
	return [
		{ text: `${siteName} · Lot dossier`, style: 'small' },
		{ text: `${row.code} ${row.name}`, style: 'title', margin: [0, 1, 0, 6] },
		{
			layout: 'noBorders',
			table: {
				widths: [72, '*'],
				body: lead.map(([term, value]) => [{ text: term, bold: true }, { text: value }])
			}
		},
		section('The lot'),
		factColumns(
			[
				['Kind', row.kind],
				['Origin', row.origin],
				...facts.map(
					({ term, value, day }) => [term, day ? dayWords(day) : value] as [string, string | null]
				),
				['On hand', `${kgText(row.leftG)} kg`],
				['Landed cost', terms.perKg && `${terms.perKg} a kg`],
				['Tests roasted', String(row.testsRoasted)],
				['Net cost of testing', moneyText(cost.total.net)]
			],
			2
		),
		...(note ? [remark(note)] : [])
	];
}

function daysText(daysLeft: number | null): string {
	if (daysLeft === null) return MISSING;
	if (daysLeft < 0) return `${-daysLeft} days late`;
	return daysLeft === 0 ? 'today' : `in ${daysLeft} ${daysLeft === 1 ? 'day' : 'days'}`;
}

function chanceText(chance: number | null): string {
	return chance === null ? '' : ` Chance to be ready by then ${percent(chance, 0)}.`;
}

function sampleRoast({ samples: { samples, drawn } }: Lot): Content[] {
	const sample = samples.find(({ id }) => id === drawn?.id);
	if (!sample?.reading || !drawn)
		return [section('Sample roast'), remark('No sample roast of this lot could be read yet.')];
	const { reading, earCrackS } = sample;
	const { crack, shares } = reading;
	return [
		{
			unbreakable: true,
			stack: [
				section(`Sample roast, ${sample.stage}, ${momentWords(sample.roasted)}`),
				{ svg: releaseChart({ ...reading, series: drawn.series, earCrackS }), width: 515 }
			]
		},
		factColumns(
			[
				['First crack', crackText(crack)],
				['At', withUnit(fixed(crack.temperatureC, 1), `°C ${crack.temperatureFrom ?? ''}`.trim())],
				['Heard at', earCrackS === null ? null : clockText(earCrackS)],
				['Development', `${clockText(reading.developmentS)}, ${percent(reading.developmentRatio)}`],
				[
					'Drop',
					`${clockText(reading.dropS)} at ${withUnit(fixed(reading.dropTemperatureC, 1), '°C')}`
				],
				['Released early', percent(shares.early)],
				['Released in the middle', percent(shares.middle)],
				['Released around the crack', percent(shares.around)],
				['Released after', percent(shares.after)],
				['Weight loss', percent(reading.weightLoss)],
				['Water carried off', withUnit(fixed(reading.waterReleasedG, 2), 'g')],
				['Sureness of the reading', percent(reading.sureness, 0)]
			],
			2
		),
		remark(
			[
				`Read from ${sample.fileName} by method ${reading.method}.`,
				...crack.because,
				...reading.problems.map(({ message }) => message)
			].join(' ')
		)
	];
}

function crackText(crack: {
	readonly verdict: string;
	readonly peakS: number | null;
	readonly sureness: number;
}): string {
	if (crack.peakS === null) return 'no distinct first crack';
	return `${clockText(crack.peakS)}, ${crack.verdict} (sureness ${percent(crack.sureness, 0)})`;
}

function measurements({ measurements: rows }: Lot): Content[] {
	if (rows.length === 0) return [];
	return [
		section('Green measurements'),
		ruledTable(
			[
				{ label: 'Measured', width: 'auto' },
				{ label: 'Stage', width: '*' },
				{ label: 'Moisture %', width: 'auto', numeric: true },
				{ label: 'Water activity', width: 'auto', numeric: true },
				{ label: 'Density g/L', width: 'auto', numeric: true },
				{ label: 'Screen 16 up %', width: 'auto', numeric: true },
				{ label: 'Defects in 300 g', width: 'auto', numeric: true },
				{ label: 'By', width: 'auto' }
			],
			rows.map((m) => [
				momentWords(m.at),
				m.stage,
				fixed(m.moisturePct, 1),
				fixed(m.waterActivity, 3),
				fixed(m.densityGL),
				fixed(m.screen16UpPct),
				fixed(m.defectsPer300G),
				m.by
			])
		)
	];
}

function tests({ tests: rows, cost }: Lot): Content[] {
	if (rows.length === 0) return [section('Tests'), remark('No test is planned yet.')];
	return [
		section('Tests'),
		ruledTable(
			[
				{ label: 'No.', width: 'auto' },
				{ label: 'Roasted', width: 48 },
				{ label: 'Purpose and what changed', width: '*' },
				{ label: 'Charge kg', width: 'auto', numeric: true },
				{ label: 'Loss', width: 'auto', numeric: true },
				{ label: 'Score', width: 52, numeric: true },
				{ label: 'Verdict', width: '*' },
				{ label: 'Net cost', width: 'auto', numeric: true }
			],
			rows.map((test) => [
				String(test.number),
				test.roasted ? dayWords(test.roasted.day) : 'not yet',
				`${test.purpose}.${changeText(test.changed, test.declared)} ${test.roasterName}.`,
				kgText(test.chargeG),
				percent(test.weightLoss),
				test.results.map(panelText).join('\n') || MISSING,
				test.verdict ? `${test.verdict}: ${test.reason ?? ''}` : 'none yet',
				moneyText(test.net)
			]),
			{
				sums: [
					'',
					'',
					'All tests',
					kgText(cost.total.greenG),
					'',
					'',
					'',
					moneyText(cost.total.net)
				]
			}
		),
		remark(
			'A score is the mean of the cuppers. Scores of the forms of 2004 and 2024 are on different scales and not to be compared.'
		)
	];
}

/** `83.25 (2004), 4 cuppers`. */
function panelText({ mean, form, cuppers }: PanelResult): string {
	return `${fixed(mean, 2)} (${form}), ${cuppers} ${cuppers === 1 ? 'cupper' : 'cuppers'}`;
}

function changeText(changed: readonly string[] | null, declared: string): string {
	if (changed === null) return '';
	if (changed.length > 0) return ` ${changed.join('; ')}.`;
	return declared ? ` ${declared}.` : ' Nothing changed.';
}

function recipe({ recipes, releases }: Lot): Content[] {
	const [newest] = recipes;
	if (!newest) return [];
	const [release] = releases;
	return [
		{
			unbreakable: true,
			stack: [
				section(`Recipe, version ${newest.version}`),
				factColumns(
					[
						['From', newest.test.label],
						['Roaster', newest.roasterName],
						['Charge', `${kgText(newest.chargeG)} kg`],
						['Weight loss', percent(newest.weightLoss)],
						['Approved', `${momentWords(newest.approved)} by ${newest.by}`],
						...(release
							? ([
									['Released', momentWords(release.at)],
									[
										'Signed off',
										`${release.roastingBy} (roasting), ${release.qualityBy} (quality)`
									],
									['Price', `${moneyText(release.pricePerKg)} a kg`]
								] satisfies [string, string][])
							: [])
					],
					2
				),
				...newest.settings.map(({ term, value }) => ({
					margin: [0, 2, 0, 0] as [number, number, number, number],
					text: [{ text: `${term}: `, color: SOFT }, value]
				})),
				...(release
					? [
							{
								margin: [0, 2, 0, 0] as [number, number, number, number],
								text: [{ text: 'In the cup: ', color: SOFT }, release.descriptors]
							}
						]
					: [])
			]
		}
	];
}

function stock({ stock: { balance, movements }, weightLoss }: Lot): Content[] {
	const parts: [string, number][] = [
		['Received', balance.receivedG],
		['Sampled', balance.sampledG],
		['Tested', balance.testedG],
		['Produced', balance.producedG],
		['Sold green', balance.soldGreenG],
		['Written off', balance.writtenOffG],
		['Count difference', balance.countDifferenceG],
		['On hand', balance.onHandG]
	];
	return [
		{
			unbreakable: true,
			stack: [
				section('Stock, kg of green coffee'),
				ruledTable(
					parts.map(([label]) => ({ label, width: '*', numeric: true })),
					[parts.map(([, massG]) => kgText(massG))]
				),
				remark(`From ${movements} movements of the ledger. Weight loss: ${weightLoss}`)
			]
		}
	];
}

function cost({ terms, cost: { total, uncosted }, currency }: Lot): Content[] {
	const { landed, isWeighed, perKg } = terms;
	const items = BATCH_ITEMS.map((item) => total.byItem[item]);
	return [
		section(`Cost, ${currency}`),
		...(landed
			? [
					ruledTable(
						[
							{ label: 'Landed cost', width: 90 },
							{ label: 'How it was worked out', width: '*' },
							{ label: 'Amount', width: 'auto', numeric: true }
						],
						landed.lines.map((line) => [line.label, line.howWorked, moneyText(line.money)]),
						{
							sums: [
								'In all',
								`${perKg} a kg of ${kgText(landed.receivedG)} kg ${isWeighed ? 'received' : 'expected'}`,
								moneyText(landed.total)
							]
						}
					)
				]
			: [remark('No price terms are recorded, so nothing can be costed.')]),
		...(total.tests > 0
			? [
					{ text: '', margin: [0, 4, 0, 0] as [number, number, number, number] },
					ruledTable(
						[
							{ label: 'Testing', width: '*' },
							...[
								'Green',
								'Gas',
								'Power',
								'Labour',
								'Machine',
								'Quality',
								'Cost',
								'Recovered',
								'Net'
							].map((label) => ({ label, width: 'auto' as const, numeric: true }))
						],
						[
							[
								`${total.tests} ${total.tests === 1 ? 'test' : 'tests'}`,
								...[...items, total.cost, total.recovered, total.net].map(moneyText)
							]
						]
					)
				]
			: []),
		...uncosted.map(({ path, message }) => remark(`${path}: ${message}`))
	];
}
