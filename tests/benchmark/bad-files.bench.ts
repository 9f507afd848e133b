import { importTables } from '#lib/server/commands/importTables.ts';
import { owner } from '#support/actors.ts';
import { judge } from '#support/badFileChecks.ts';
import { takeIn } from '#support/badFileIntake.ts';
import { badFile } from '#support/badFiles.ts';
import { newDatabase } from '#support/database.ts';
import { fewLots } from '#support/fewLots.ts';
import { done } from '#support/smallRoastery.ts';
import type { Benchmark } from './harness.ts';

const FILES = 100_000;
/** Every so many that read well, one is taken into a database; and every so many of all. */
const EVERY_GOOD = 20;
const EVERY = 500;
const LOT = 'HR-135';

/** Truncated, huge, wrongly encoded and otherwise spoiled files: how many made intake throw or take half. */
export const benchmark: Benchmark = {
	name: '100,000 bad files',
	unit: 'faults',
	goal: '0 thrown, half taken in or unsound',
	slow: true,
	async run() {
		const db = await newDatabase();
		const act = { database: db.database, now: Date.UTC(2026, 10, 25, 9), actor: owner('Nell') };
		done(await importTables(act, fewLots([LOT])));
		const wrong: string[] = [];
		const slowest = { ms: 0, number: 0 };
		const counts = { read: 0, tried: 0, taken: 0 };
		for (let number = 0; number < FILES; number++) {
			const file = badFile(number);
			const startedMs = performance.now();
			const judged = judge(file);
			const ms = performance.now() - startedMs;
			if (ms > slowest.ms) Object.assign(slowest, { ms, number });
			wrong.push(...judged.faults.map((fault) => `${number}: ${fault}`));
			if (judged.accepted) counts.read++;
			if (number % EVERY !== 0 && !(judged.accepted && counts.read % EVERY_GOOD === 0)) continue;
			const taken = await takeIn(act, file, LOT);
			wrong.push(...taken.faults.map((fault) => `${number}: ${fault}`));
			counts.tried++;
			if (taken.accepted) counts.taken++;
		}
		await db.remove();
		return {
			...{ value: wrong.length, reference: FILES, ratio: wrong.length / FILES },
			holds: wrong.length === 0,
			note: `of ${FILES} files ${counts.read} could be read; ${counts.tried} of all were taken to a database, which took ${counts.taken} whole and nothing of the others. The slowest, ${slowest.number}, took ${slowest.ms.toFixed(0)} ms. ${wrong.slice(0, 3).join(' | ')}`
		};
	}
};
