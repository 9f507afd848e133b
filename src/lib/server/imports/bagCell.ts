import { parseScaled } from '#lib/domain/quantity/decimal.ts';
import type { BagPart } from '#lib/domain/ledger/bags.ts';
import type { CellType } from './cells.ts';
import { plainNumber } from './number.ts';

/**
 * `3:20.5; 4:60`: bag numbers with kilograms to the gram, as they move: what leaves may be written without
 * its sign, a count's differences may have either.
 */
export const bagParts: CellType<readonly BagPart[]> = {
	describe: 'bags as number:kg apart by semicolons, such as 3:20.5; 4:60',
	numeric: false,
	parse: (cell, { style }) => {
		const parts: BagPart[] = [];
		for (const part of cell.split(';')) {
			const match = /^\s*(\d{1,6})\s*:\s*(\S+)\s*$/.exec(part);
			const plain = match ? plainNumber(match[2]!, style) : null;
			const mass = plain === null ? null : parseScaled(plain, 3, 'bags');
			if (!match || !mass?.ok || Number(match[1]) === 0) return undefined;
			parts.push({ bag: Number(match[1]), massG: mass.value });
		}
		return parts;
	}
};

/** Signed as the movement is, where that goes out and they were written without a sign. */
export function signedParts(kind: string, parts: readonly BagPart[]): readonly BagPart[] {
	if (kind === 'received' || kind === 'count difference') return parts;
	return parts.map(({ bag, massG }) => ({ bag, massG: -Math.abs(massG) }));
}

/** Bags as that cell takes them; a count's differences keep their signs. */
export function bagText(kind: string, parts: readonly BagPart[]): string {
	const shown = (massG: number) => (kind === 'count difference' ? massG : Math.abs(massG));
	return parts.map(({ bag, massG }) => `${bag}:${shown(massG) / 1000}`).join('; ');
}
