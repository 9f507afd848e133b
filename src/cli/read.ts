import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import { parseArgs } from 'node:util';
import type { ReadingContext } from '#lib/domain/release/reading.ts';
import { reportLog, reportText } from '#lib/server/imports/logReport.ts';

/** `npm run -s read -- FILE.csv`: reads one log as the pages do. Exit 1 for a bad file, 2 for bad usage. */
const USAGE = `usage: npm run -s read -- FILE.csv [options]
  --json           the whole report as JSON, curves included
  --charge 50      green charge, g
  --out 43         roasted mass, g
  --moisture 11    moisture of the green, %
  --flow 4         dry-air flow at charge, g/s
  --lag 8          lag of the humidity sensor, s
  --altitude 40    height of the site, m`;

interface Request {
	readonly file: string;
	readonly json: boolean;
	readonly context: ReadingContext;
}

function usageError(message: string): never {
	console.error(`${message}\n${USAGE}`);
	process.exit(2);
}

function readRequest(args: readonly string[]): Request {
	const { values, positionals } = parse(args);
	if (positionals.length !== 1) usageError(`found ${positionals.length} files, expected one`);
	const given = (name: Exclude<keyof typeof values, 'json'>): number | null => {
		const text = values[name];
		if (text === undefined) return null;
		const number = Number(text);
		if (text.trim() === '' || !Number.isFinite(number))
			usageError(`found --${name} '${text}', expected a number`);
		return number;
	};
	const context: ReadingContext = {
		chargeG: given('charge'),
		outG: given('out'),
		greenMoisturePct: given('moisture'),
		airFlowGS: given('flow'),
		sensorLagS: given('lag'),
		altitudeM: given('altitude'),
		pressurePa: null,
		roomHumidityGKg: null
	};
	return { file: positionals[0]!, json: values.json === true, context };
}

function parse(args: readonly string[]) {
	const text = { type: 'string' } as const;
	try {
		return parseArgs({
			args: [...args],
			options: {
				json: { type: 'boolean' },
				charge: text,
				out: text,
				moisture: text,
				flow: text,
				lag: text,
				altitude: text
			},
			allowPositionals: true
		});
	} catch (error) {
		return usageError(error instanceof Error ? error.message : String(error));
	}
}

function bytesOf(file: string): Uint8Array {
	try {
		return readFileSync(file);
	} catch (error) {
		const reason = (error as NodeJS.ErrnoException).code === 'ENOENT' ? 'no such file' : error;
		console.error(`${file}: could not be opened: ${reason}`);
		process.exit(1);
	}
}

const { file, json, context } = readRequest(process.argv.slice(2));
const report = reportLog(bytesOf(file), basename(file), context);
const bad = report.problems.length > 0;
if (json) console.log(JSON.stringify(report, plainArrays, 2));
else process[bad ? 'stderr' : 'stdout'].write(reportText(report));
process.exitCode = bad ? 1 : 0;

/** Typed arrays as lists; JSON has no NaN, a missing value is null. */
function plainArrays(_key: string, value: unknown): unknown {
	return value instanceof Float64Array ? Array.from(value) : value;
}
