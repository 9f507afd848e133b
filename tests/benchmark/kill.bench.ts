import { killAtMoments } from '#support/kills.ts';
import type { Benchmark } from './harness.ts';

const PROCESSES = 10;
const MOMENTS = 20;

/** Processes stopped or killed in the middle of acts: at how many moments something was lost or half done. */
export const benchmark: Benchmark = {
	name: 'kill -9 at 200 moments',
	unit: 'faults',
	goal: '0 lost or half done',
	slow: true,
	async run() {
		const wrong: string[] = [];
		const moments: Record<string, number> = {};
		let acknowledged = 0;
		for (let process = 1; process <= PROCESSES; process++) {
			const killed = await killAtMoments(MOMENTS, process);
			wrong.push(...killed.wrong);
			acknowledged += killed.acknowledged;
			for (const [kind, n] of Object.entries(killed.moments))
				moments[kind] = (moments[kind] ?? 0) + n;
		}
		const reference = PROCESSES * MOMENTS;
		const at = Object.entries(moments).map(([kind, n]) => `${kind} ${n}`);
		return {
			...{ value: wrong.length, reference, ratio: wrong.length / reference },
			holds: wrong.length === 0,
			note: `of 200 moments, ${PROCESSES} of them a SIGKILL, at ${at.join(', ')}; ${acknowledged} acts acknowledged. ${wrong.slice(0, 3).join(' | ')}`
		};
	}
};
