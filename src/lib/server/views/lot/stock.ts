import { lotBalance, runningBalance, type LotBalance } from '#lib/domain/ledger/ledger.ts';
import type { MovementKind } from '#lib/domain/ledger/movement.ts';
import type { MovementRow } from '../../store/lots.ts';
import type { TestRecord } from '../../store/tests.ts';
import { momentOf, type Moment } from '../moment.ts';
import { sampleHref } from '../places.ts';
import { testHref } from '../tests.ts';

export interface LedgerRow {
	readonly id: number;
	readonly at: Moment;
	readonly kind: MovementKind;
	readonly massG: number;
	readonly onHandG: number;
	readonly reason: string;
	readonly by: string;
	/** The record the movement comes from; null where it is its own. */
	readonly href: string | null;
}

export interface LotStock {
	readonly balance: LotBalance;
	/** Newest first; the newest of them only, unless all were asked for. */
	readonly ledger: readonly LedgerRow[];
	readonly movements: number;
}

/** Rows of the ledger that are shown at first. */
const LEDGER_ROWS = 20;

/** Where a lot's coffee went, and its ledger with the stock that each movement left. */
export function lotStock(
	movements: readonly MovementRow[],
	tests: readonly TestRecord[],
	zone: string,
	all: boolean
): LotStock {
	const { rows } = runningBalance(movements);
	const shown = rows.toReversed().slice(0, all ? undefined : LEDGER_ROWS);
	return {
		balance: lotBalance(movements),
		movements: rows.length,
		ledger: shown.map(({ movement, onHandG }) => ({
			id: movement.id,
			at: momentOf(movement.at, zone),
			kind: movement.kind,
			massG: movement.massG,
			onHandG,
			reason: movement.reason,
			by: movement.by,
			href: sourceHref(movement, tests)
		}))
	};
}

function sourceHref(movement: MovementRow, tests: readonly TestRecord[]): string | null {
	if (movement.sampleId !== null) return sampleHref(movement.sampleId);
	const test = tests.find(({ batch }) => batch.id === movement.testBatchId);
	return test ? testHref(test.lotCode, test.batch.number) : null;
}
