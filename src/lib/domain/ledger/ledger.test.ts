import { describe, expect, it } from 'vitest';
import { seededChance } from '../stats/chance.ts';
import { checkMovement, lotBalance, onHandG, runningBalance, unexplainedG } from './ledger.ts';
import { MOVEMENT_KINDS, type Movement, type MovementKind } from './movement.ts';

function move(kind: MovementKind, massG: number, at = 0): Movement {
	return { lotId: 7, at, kind, massG, reason: 'weighed', by: 'Ines' };
}

const HISTORY = [
	move('received', 600_000, 1),
	move('sampled', -300, 2),
	move('tested', -30_000, 3),
	move('count difference', -200, 4),
	move('produced', -500_000, 5),
	move('sold green', -60_000, 6),
	move('written off', -9_500, 7)
];

describe('the ledger of a lot', () => {
	it('has on hand the sum of its movements (rule 1)', () => {
		expect(onHandG([])).toBe(0);
		expect(onHandG(HISTORY.slice(0, 3))).toBe(569_700);
	});

	it('explains every gram, a count difference with its sign (rule 2)', () => {
		expect(lotBalance(HISTORY.slice(0, 6))).toEqual({
			receivedG: 600_000,
			sampledG: 300,
			testedG: 30_000,
			producedG: 500_000,
			soldGreenG: 60_000,
			writtenOffG: 0,
			countDifferenceG: -200,
			onHandG: 9_500
		});
	});

	it('says when it was emptied, and no longer once there is stock again', () => {
		const running = runningBalance([...HISTORY].reverse());
		expect(running.rows.map((row) => row.onHandG)).toEqual([
			600_000, 599_700, 569_700, 569_500, 69_500, 9_500, 0
		]);
		expect(running.emptiedAt).toBe(7);
		const found = [...HISTORY, move('count difference', 1_000, 8)];
		expect(runningBalance(found)).toMatchObject({ emptiedAt: null, onHandG: 1_000 });
		const again = [...found, move('written off', -1_000, 9)];
		expect(runningBalance(again).emptiedAt).toBe(9);
		expect(runningBalance([])).toEqual({ rows: [], onHandG: 0, emptiedAt: null, lowestG: 0 });
	});

	it('shows a movement dated before its receipt as stock below zero', () => {
		const wrong = [move('received', 100, 5), move('tested', -40, 3)];
		expect(runningBalance(wrong)).toMatchObject({ lowestG: -40, onHandG: 60 });
	});
});

describe('checking a movement', () => {
	it('takes one that fits and trims its words', () => {
		const movement = { ...move('tested', -30_000), reason: '  test 2 ', by: ' Ines ' };
		expect(checkMovement(30_000, movement)).toEqual({
			ok: true,
			value: { ...movement, reason: 'test 2', by: 'Ines' }
		});
		expect(checkMovement(0, move('received', 1)).ok).toBe(true);
		expect(checkMovement(10, move('count difference', -10)).ok).toBe(true);
		expect(checkMovement(0, move('count difference', 10)).ok).toBe(true);
	});

	it.each<[string, number, Partial<Movement>, string, string]>([
		['too much (rule 5)', 29_999, { massG: -30_000 }, 'massG', '30 kg is more than the 29.999 kg'],
		[
			'a count below zero (rule 5)',
			5,
			{ kind: 'count difference', massG: -6 },
			'massG',
			'more than'
		],
		['a receipt that leaves (rule 3)', 10, { kind: 'received', massG: -5 }, 'massG', 'above zero'],
		['a test that comes in (rule 3)', 10, { massG: 5 }, 'massG', 'leave stock'],
		[
			'a produced batch that comes in (rule 3)',
			10,
			{ kind: 'produced', massG: 5 },
			'massG',
			'leave'
		],
		['nothing (rule 4)', 10, { massG: 0 }, 'massG', 'found 0 g'],
		['half a gram (rule 4)', 10, { massG: -0.5 }, 'massG', 'whole number'],
		['no reason (rule 4)', 10, { reason: ' ' }, 'reason', 'why'],
		['no name (rule 4)', 10, { by: '' }, 'by', 'who'],
		['no time (rule 4)', 10, { at: Number.NaN }, 'at', 'instant'],
		['an unknown kind', 10, { kind: 'lost' as MovementKind }, 'kind', 'expected one of']
	])('refuses %s', (_, stockG, change, path, words) => {
		const outcome = checkMovement(stockG, { ...move('tested', -5), ...change });
		expect(outcome.ok).toBe(false);
		if (outcome.ok) return;
		expect(outcome.problems).toHaveLength(1);
		expect(outcome.problems[0]?.path).toBe(path);
		expect(outcome.problems[0]?.message).toContain(words);
	});

	it('tells every fault at once', () => {
		const outcome = checkMovement(10, { ...move('tested', 5), reason: '', by: '' });
		expect(outcome.ok ? [] : outcome.problems.map((problem) => problem.path)).toEqual([
			'massG',
			'reason',
			'by'
		]);
	});
});

/** Random movements, some of them impossible; only those that pass the check are written. */
function randomHistory(seed: number) {
	const next = seededChance(seed);
	const movements: Movement[] = [];
	const bags: Record<MovementKind, number> = Object.fromEntries(
		MOVEMENT_KINDS.map((kind) => [kind, 0])
	) as Record<MovementKind, number>;
	let stockG = 0;
	let refused = 0;
	for (let at = 1; at <= 60; at += 1) {
		const kind = MOVEMENT_KINDS[Math.floor(next() * MOVEMENT_KINDS.length)] ?? 'received';
		// One in four takes all there is, so that lots are emptied and filled again.
		const size = next() < 0.25 ? stockG : Math.floor(next() * 70_000);
		const inward = kind === 'received' || (kind === 'count difference' && next() < 0.5);
		const movement = move(kind, inward ? size : -size, at);
		if (!checkMovement(stockG, movement).ok) {
			refused += 1;
			continue;
		}
		stockG += movement.massG;
		bags[kind] += size;
		if (kind === 'count difference') bags[kind] += movement.massG - size;
		movements.push(movement);
	}
	return { movements, bags, stockG, refused };
}

describe('over 500 random histories', () => {
	it('explains every gram and never goes below zero (rules 1, 2, 5)', () => {
		let refused = 0;
		let emptied = 0;
		for (let seed = 1; seed <= 500; seed += 1) {
			const history = randomHistory(seed);
			refused += history.refused;
			const balance = lotBalance(history.movements);
			const running = runningBalance(history.movements);
			expect(unexplainedG(balance), `seed ${seed}`).toBe(0);
			expect(balance.onHandG, `seed ${seed}`).toBe(history.stockG);
			expect(running.onHandG, `seed ${seed}`).toBe(history.stockG);
			expect(running.lowestG, `seed ${seed}`).toBe(0);
			expect(running.emptiedAt === null, `seed ${seed}`).toBe(
				history.stockG > 0 || history.movements.length === 0
			);
			if (running.emptiedAt !== null) {
				expect(running.emptiedAt, `seed ${seed}`).toBe(history.movements.at(-1)?.at);
				emptied += 1;
			}
			expect(columns(balance), `seed ${seed}`).toEqual(history.bags);
		}
		// The histories do reach the corners they are meant to reach.
		expect(refused).toBeGreaterThan(1000);
		expect(emptied).toBeGreaterThan(5);
	});
});

function columns(balance: ReturnType<typeof lotBalance>): Record<MovementKind, number> {
	return {
		received: balance.receivedG,
		sampled: balance.sampledG,
		tested: balance.testedG,
		produced: balance.producedG,
		'sold green': balance.soldGreenG,
		'written off': balance.writtenOffG,
		'count difference': balance.countDifferenceG
	};
}
