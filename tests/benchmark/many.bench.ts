import { buildIfNeeded } from '../../src/cli/support/build.ts';
import { workMany, type ManyResult } from '../support/manyUsers.ts';
import { startServer } from '../support/server.ts';
import { quantile, type Benchmark } from './harness.ts';

const USERS = 50;
const LASTS_MS = 120_000;
/** One person with the same pauses has the server alone for so long. */
const ALONE_MS = 30_000;
const PAUSE_MS = [1000, 3000] as const;

/** Fifty people read and record for two minutes on the demo roastery, beside one person alone. */
export const benchmark: Benchmark = {
	name: 'many at once',
	unit: 'ms',
	goal: `no error and nothing lost for ${USERS} people; p95 shown`,
	slow: true,
	async run() {
		await buildIfNeeded(console.error);
		const server = await startServer({ entry: 'demo' });
		try {
			const alone = await workMany(server, options(1, ALONE_MS, 1));
			const many = await workMany(server, options(USERS, LASTS_MS, 2));
			const [value, reference] = [p95Of(many), p95Of(alone)];
			const faults = [...alone.faults, ...many.faults];
			return {
				value,
				reference,
				ratio: value / reference,
				holds: faults.length === 0,
				note: noteOf(many, faults)
			};
		} finally {
			await server.stop();
		}
	}
};

function options(users: number, forMs: number, seed: number) {
	// From the first turn on: by then everybody is signed in.
	let end = 0;
	const goesOn = () => performance.now() < (end ||= performance.now() + forMs);
	return { users, seed, pauseMs: PAUSE_MS, goesOn };
}

const p95Of = ({ ms }: ManyResult) => quantile([...ms.values()].flat(), 0.95);

function noteOf(many: ManyResult, faults: readonly string[]): string {
	const kinds = [...many.ms].map(([kind, ms]) => {
		const [half, most] = [quantile(ms, 0.5), quantile(ms, 0.95)].map((each) => each.toFixed(0));
		return `${kind} ${half}/${most} (${ms.length})`;
	});
	const statuses = [...many.statuses].map(([kind, count]) => `${kind} x ${count}`);
	return [
		`each person pauses ${PAUSE_MS.join(' to ')} ms between clicks`,
		`${many.recorded} records acknowledged and found, ${many.told} second editors told`,
		`faults: ${faults.length === 0 ? 'none' : faults.slice(0, 5).join('; ')}`,
		`p50/p95 ms: ${kinds.join(', ')}`,
		`answers: ${statuses.join(', ')}`
	].join('; ');
}
