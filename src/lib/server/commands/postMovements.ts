import { and, eq, inArray } from 'drizzle-orm';
import { openBags, partsOf, type BagEntry, type BagPart } from '#lib/domain/ledger/bags.ts';
import { checkMovement, lowestFromG } from '#lib/domain/ledger/ledger.ts';
import type { Movement } from '#lib/domain/ledger/movement.ts';
import { openSince } from '#lib/domain/ledger/period.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { bag, bagMovement, lot, movement } from '../db/schema.ts';
import { loadBagRows, loadClosedMonths } from '../store/ledger.ts';
import { loadMovements } from '../store/lots.ts';
import { requireSite } from '../store/site.ts';
import type { Deed } from './act.ts';

/** A movement of a lot with the record it comes from, where it comes from one. */
export type Entry = Omit<Movement, 'by' | 'lotId'> & {
	readonly by?: string;
	readonly sampleId?: number;
	readonly testBatchId?: number;
	readonly productionId?: number;
	/** Parts by bag that a person named, signed like the movement; none where nobody did. */
	readonly bags?: readonly BagPart[];
};

/** The ledger of a lot while movements are added to it. */
interface Ledger {
	readonly lotId: number;
	readonly bagG: number;
	/** The first instant that is not in a closed period. */
	readonly openSince: number;
	readonly movements: Movement[];
	readonly bags: BagEntry[];
	/** What each movement has in no bag: coffee that came before bags were kept. */
	readonly loose: Movement[];
}

/** A movement that passed every rule, with its parts by bag. */
interface Posted {
	readonly row: Movement & Entry;
	readonly happenedAt: number | null;
	readonly parts: readonly BagPart[];
	readonly named: boolean;
}

/**
 * Adds movements to a lot's ledger in their order, after the ledger's own rules (domain/ledger): at no
 * moment does the lot or a bag go below zero, and nothing is added to a closed period. Every act that
 * takes or brings coffee goes through here.
 */
export async function postMovements(
	deed: Deed,
	lotId: number,
	entries: readonly Entry[]
): Promise<Outcome<null>> {
	const ledger = await openLedger(deed, lotId);
	const posted: Posted[] = [];
	for (const entry of entries) {
		const checked = postOne(ledger, { by: deed.by, ...entry, lotId });
		if (!checked.ok) return checked;
		posted.push(checked.value);
	}
	await write(deed, lotId, posted);
	return good(null);
}

async function openLedger({ tx }: Deed, lotId: number): Promise<Ledger> {
	const [site, closed, movements, bagRows, lots] = await Promise.all([
		requireSite(tx),
		loadClosedMonths(tx),
		loadMovements(tx, lotId),
		loadBagRows(tx, lotId),
		tx.select({ bagG: lot.bagG }).from(lot).where(eq(lot.id, lotId))
	]);
	const inBagsG = new Map<number, number>();
	for (const { movementId, massG } of bagRows)
		inBagsG.set(movementId, (inBagsG.get(movementId) ?? 0) + massG);
	return {
		lotId,
		bagG: lots[0]!.bagG,
		openSince: openSince(closed, site.timeZone),
		movements,
		bags: bagRows,
		loose: movements.map((row) => ({ ...row, massG: row.massG - (inBagsG.get(row.id) ?? 0) }))
	};
}

function postOne(ledger: Ledger, entry: Movement & Entry): Outcome<Posted> {
	const at = Math.max(entry.at, ledger.openSince);
	const checked = checkMovement(lowestFromG(ledger.movements, at), { ...entry, at });
	if (!checked.ok) return checked;
	const row = checked.value;
	const parts = byBag(ledger, row);
	if (!parts.ok) return parts;
	const inBagsG = parts.value.reduce((sum, part) => sum + part.massG, 0);
	ledger.movements.push(row);
	ledger.bags.push(...parts.value.map((part) => ({ ...part, at })));
	ledger.loose.push({ ...row, massG: row.massG - inBagsG });
	return good({
		row,
		happenedAt: at === entry.at ? null : entry.at,
		parts: parts.value,
		named: (entry.bags ?? []).length > 0
	});
}

function byBag(ledger: Ledger, { kind, at, massG, bags: named = [] }: Movement & Entry) {
	if (kind !== 'received')
		return partsOf(at, massG, named, ledger.bags, lowestFromG(ledger.loose, at));
	return openBags(massG, ledger.bagG, named, new Set(ledger.bags.map((entry) => entry.bag)));
}

async function write({ tx, now }: Deed, lotId: number, posted: readonly Posted[]): Promise<void> {
	if (posted.length === 0) return;
	const movements = await tx
		.insert(movement)
		.values(
			posted.map(({ row: { bags: _, ...row }, happenedAt }) => ({
				...row,
				happenedAt,
				recordedAt: now
			}))
		)
		.returning({ id: movement.id });
	const opened = posted
		.filter(({ row }) => row.kind === 'received')
		.flatMap(({ parts, named }) =>
			parts.map((part) => ({ lotId, number: part.bag, weighed: named }))
		);
	if (opened.length > 0) await tx.insert(bag).values(opened);
	const numbers = [...new Set(posted.flatMap(({ parts }) => parts.map((part) => part.bag)))];
	if (numbers.length === 0) return;
	const bags = await tx
		.select({ id: bag.id, number: bag.number })
		.from(bag)
		.where(and(eq(bag.lotId, lotId), inArray(bag.number, numbers)));
	const idOf = new Map(bags.map(({ id, number }) => [number, id]));
	const rows = posted.flatMap(({ parts, named }, i) =>
		parts
			.filter(({ massG }) => massG !== 0)
			.map((part) => ({
				movementId: movements[i]!.id,
				bagId: idOf.get(part.bag)!,
				massG: part.massG,
				named
			}))
	);
	for (let i = 0; i < rows.length; i += 500)
		await tx.insert(bagMovement).values(rows.slice(i, i + 500));
}

/** What a count of a lot, or of some of its bags, differs from the ledger by, in grams. */
export async function countDifference(
	deed: Deed,
	lotId: number,
	at: number,
	countedG: number,
	bags: readonly BagPart[]
): Promise<Outcome<{ massG: number; bags: readonly BagPart[] }>> {
	const ledger = await openLedger(deed, lotId);
	const stockG = (rows: readonly { at: number; massG: number }[]) =>
		rows.reduce((sum, row) => (row.at <= at ? sum + row.massG : sum), 0);
	if (bags.length === 0) return good({ massG: countedG - stockG(ledger.movements), bags });
	const sumG = bags.reduce((sum, part) => sum + part.massG, 0);
	if (sumG !== countedG)
		return bad({
			path: 'bags',
			message: `the bags sum to ${sumG / 1000} kg, expected the ${countedG / 1000} kg counted in them`
		});
	const differences = bags.map(({ bag: number, massG }) => ({
		bag: number,
		massG: massG - stockG(ledger.bags.filter((entry) => entry.bag === number))
	}));
	const kept = differences.filter(({ massG }) => massG !== 0);
	return good({ massG: kept.reduce((sum, part) => sum + part.massG, 0), bags: kept });
}
