/**
 * What a sample log says, from bytes to reading, for the command line: the same preview, the same mapping
 * and the same reading as the pages show.
 */
import type { RoastLog } from '#lib/domain/curve/log.ts';
import type { Problem } from '#lib/domain/quantity/problem.ts';
import { readSample } from '#lib/domain/release/read.ts';
import type { ReadingContext, SampleReading } from '#lib/domain/release/reading.ts';
import { sniffLog, type LogPreview } from './logFile.ts';
import { readLog, type ParsedLog } from './readLog.ts';
import type { Unit } from './words.ts';

export interface LogReport {
	readonly preview: LogPreview;
	/** Null when the file can't be read. */
	readonly parsed: ParsedLog | null;
	/** Null for a drum log, and when the log can't be read as a sample. */
	readonly reading: SampleReading | null;
	/** What stood in the way; empty when there is nothing. */
	readonly problems: readonly Problem[];
}

/** Looks at a file, reads it by the guessed mapping and, if it is a sample roast, reads its release. */
export function reportLog(bytes: Uint8Array, fileName: string, context: ReadingContext): LogReport {
	const preview = sniffLog(bytes, fileName);
	const failed = (parsed: ParsedLog | null, problems: readonly Problem[]): LogReport => ({
		preview,
		parsed,
		reading: null,
		problems
	});
	if (preview.mapping === null) return failed(null, preview.problems);
	const read = readLog(bytes, preview.mapping, fileName);
	if (!read.ok) return failed(null, read.problems);
	if (preview.kind.kind === 'drum') return failed(read.value, []);
	const reading = readSample(read.value.log, context);
	if (!reading.ok) return failed(read.value, reading.problems);
	return { preview, parsed: read.value, reading: reading.value, problems: [] };
}

/** The report as aligned text with units, ending with a line end. */
export function reportText(report: LogReport): string {
	const { preview, parsed, reading, problems } = report;
	const parts = [
		heading(preview, parsed),
		section('Columns', columnLines(preview)),
		section('Marks in the log', parsed ? markLines(parsed.log) : []),
		...(reading ? readingSections(reading) : []),
		section('Limits of this reading', (reading?.problems ?? []).map(problemLine)),
		section('Notes', noteLines(report)),
		section('Problems', problems.map(problemLine))
	];
	return parts.filter((part) => part !== '').join('\n\n') + '\n';
}

function heading(preview: LogPreview, parsed: ParsedLog | null): string {
	const { fileName, kind, rowCount, dialectText } = preview;
	if (!parsed) return `${fileName}: could not be read`;
	const length = clock(parsed.log.timeS.at(-1) ?? 0);
	const counts = `${rowCount} rows, ${length} min:s, one every ${round(parsed.timeStepS, 2)} s`;
	return `${fileName}: ${kind.kind} roast (${kind.why}), ${counts}\n${dialectText}`;
}

function section(title: string, lines: readonly string[]): string {
	return lines.length === 0 ? '' : [title, ...lines.map((line) => `  ${line}`)].join('\n');
}

function columnLines({ guesses }: LogPreview): string[] {
	if (guesses.length === 0) return [];
	const rows = guesses.map((guess) => [
		guess.heading.trim().replace(/\s+/g, ' ') || `(column ${guess.index + 1})`,
		guess.mark ? `${guess.use} ${guess.mark}` : guess.use,
		unitText(guess.unit),
		percent(guess.sureness),
		guess.why
	]);
	return aligned([['heading', 'read as', 'unit', 'sure', 'because'], ...rows]);
}

function noteLines({ preview, parsed }: LogReport): string[] {
	const drum = parsed?.log.kind === 'drum';
	return drum
		? [...preview.notes, 'A drum log has no release reading; only a sample roast has one.']
		: [...preview.notes];
}

function unitText(unit: Unit | null): string {
	return unit === 'C' || unit === 'F' ? `°${unit}` : (unit ?? '-');
}

function markLines({ marks }: RoastLog): string[] {
	return aligned(marks.map(({ name, timeS }) => [name, `${clock(timeS)} min:s`]));
}

function readingSections(reading: SampleReading): string[] {
	return [
		section('First crack', crackLines(reading)),
		section('Shares of the water released', shareLines(reading)),
		section('Roast', roastLines(reading)),
		section('Read with', inputLines(reading))
	];
}

function crackLines({ crack }: SampleReading): string[] {
	const rows = [['verdict', `${crack.verdict} (${percent(crack.sureness)} sure)`]];
	if (crack.peakS !== null) {
		const moments = [crack.onsetS, crack.peakS, crack.endS].map(clockOrDash).join(' / ');
		rows.push(['onset / peak / end', `${moments} min:s`]);
	}
	if (crack.temperatureC !== null)
		rows.push([
			'temperature at peak',
			`${round(crack.temperatureC, 1)} °C (${crack.temperatureFrom})`
		]);
	if (crack.prominence !== null)
		rows.push(['burst over base', `${round(crack.prominence * 100, 0)} %`]);
	return [...aligned(rows), ...crack.because.map((reason) => `- ${reason}`)];
}

function shareLines({ shares, shareBoundsS }: SampleReading): string[] {
	const { early, middle, around, after } = shares;
	const whole = wholePercents([early, middle, around, after]);
	const rows = [
		['early', `until ${clock(shareBoundsS.early)}`],
		['middle', `until ${clock(shareBoundsS.middle)}`],
		['around the crack', `until ${clock(shareBoundsS.around)}`],
		['after', 'to the drop']
	];
	return aligned(rows.map(([name, until], i) => [name!, `${whole[i]} %`, until!]));
}

/** Shares that sum to 1 as whole per cents that sum to 100, by largest remainder. */
function wholePercents(shares: readonly number[]): number[] {
	const whole = shares.map((share) => Math.floor(share * 100));
	const left = 100 - whole.reduce((sum, value) => sum + value, 0);
	const byRest = shares
		.map((share, at) => ({ at, rest: share * 100 - whole[at]! }))
		.sort((a, b) => b.rest - a.rest);
	for (const { at } of byRest.slice(0, Math.max(0, left))) whole[at]!++;
	return whole;
}

function roastLines(reading: SampleReading): string[] {
	const rows: string[][] = [
		['drop', `${clock(reading.dropS)} min:s${at(reading.dropTemperatureC)}`],
		['release in', reading.rateUnit === 'g/s' ? 'g/s' : 'share of all released a second (relative)']
	];
	if (reading.developmentS !== null && reading.developmentRatio !== null)
		rows.push([
			'development',
			`${clock(reading.developmentS)} min:s, ${percent(reading.developmentRatio)} of the roast`
		]);
	if (reading.weightLoss !== null)
		rows.push(['weight loss', `${round(reading.weightLoss * 100, 1)} %`]);
	if (reading.waterReleasedG !== null)
		rows.push(['water released', `${round(reading.waterReleasedG, 2)} g`]);
	rows.push(['sureness of the whole', percent(reading.sureness)]);
	return aligned(rows);
}

function inputLines({ inputs, method }: SampleReading): string[] {
	const given = (value: number | null, unit: string) =>
		value === null ? 'not given' : `${round(value, 2)} ${unit}`;
	return aligned([
		['method', method],
		['humidity from', inputs.humidityFrom],
		['its temperature from', inputs.humidityTemperatureFrom ?? '-'],
		['sensor lag', `${given(inputs.sensorLagS, 's')} (${inputs.sensorLagFrom})`],
		['pressure', `${round(inputs.pressurePa, 0)} Pa (${inputs.pressureFrom})`],
		['dry-air flow', given(inputs.airFlowGS, 'g/s')],
		['charge', given(inputs.chargeG, 'g')],
		['out', given(inputs.outG, 'g')],
		['green moisture', given(inputs.greenMoisturePct, '%')]
	]);
}

function problemLine({ path, message }: Problem): string {
	return `${path}: ${message}`;
}

/** Columns padded to their widest cell, the last one left as it is. */
function aligned(rows: readonly (readonly string[])[]): string[] {
	const widths = (rows[0] ?? []).map((_, i) => Math.max(...rows.map((row) => [...row[i]!].length)));
	return rows.map((row) =>
		row
			.map((cell, i) =>
				i === row.length - 1 ? cell : cell + ' '.repeat(widths[i]! - [...cell].length)
			)
			.join('  ')
	);
}

function clock(seconds: number): string {
	const whole = Math.round(seconds);
	return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}

function clockOrDash(seconds: number | null): string {
	return seconds === null ? '-' : clock(seconds);
}

function at(temperatureC: number | null): string {
	return temperatureC === null ? '' : ` at ${round(temperatureC, 1)} °C`;
}

function percent(share: number): string {
	return `${round(share * 100, 0)} %`;
}

function round(value: number, decimals: number): string {
	return value
		.toFixed(decimals)
		.replace(/(\.\d*?)0+$/, '$1')
		.replace(/\.$/, '');
}
