import { nearestIndex, type Place } from './path.ts';

/** Where words go in a chart so that they don't lie on one another or on a line. */

/** Width of a text at the charts' 11 px, near enough to lay labels out without measuring. */
export function textWidth(text: string): number {
	return text.length * 6 + 4;
}

export interface Label {
	readonly text: string;
	/** Middle of the label wished for, px. */
	readonly x: number;
}

export interface PackedLabel extends Label {
	/** Left edge, held inside the drawing. */
	readonly left: number;
	/** 0 is the row nearest to the plot. */
	readonly row: number;
}

/**
 * Puts labels in as few rows as they need, in the order given (the important first), each near its x
 * and within 0 to `width`.
 */
export function packRows(labels: readonly Label[], width: number, gap = 4): PackedLabel[] {
	const rows: { left: number; right: number }[][] = [];
	return labels.map((label) => {
		const size = textWidth(label.text);
		const left = Math.min(Math.max(label.x - size / 2, 0), Math.max(width - size, 0));
		const isFree = (taken: { left: number; right: number }[]) =>
			taken.every((other) => left >= other.right + gap || left + size + gap <= other.left);
		const found = rows.findIndex(isFree);
		const row = found === -1 ? rows.length : found;
		(rows[row] ??= []).push({ left, right: left + size });
		return { ...label, left, row };
	});
}

export interface LabelledLine {
	readonly text: string;
	/** The line's height at an x, both in px; NaN where it isn't drawn. */
	readonly yAt: (x: number) => number;
}

/** A column of values over time as a line to label, in a plot `width` px wide. */
export function lineOf(
	text: string,
	timeS: readonly number[],
	values: readonly number[],
	y: Place,
	width: number
): LabelledLine {
	const endS = timeS.at(-1) ?? 1;
	const yAt = (px: number) => y(values[nearestIndex(timeS, (px / width) * endS)] ?? Number.NaN);
	return { text, yAt };
}

export interface LineLabel {
	readonly text: string;
	/** Middle of the text and its baseline. */
	readonly x: number;
	readonly y: number;
}

interface Box {
	readonly left: number;
	readonly right: number;
	readonly top: number;
	readonly bottom: number;
}

const HEIGHT = 12;
const GAP = 5;

/** Distance from a box to the nearest stretch of any line; below zero where a line crosses it. */
function clearance(box: Box, lines: readonly LabelledLine[]): number {
	let least = Number.POSITIVE_INFINITY;
	for (const line of lines)
		for (let x = box.left - 6; x <= box.right + 6; x += 4) {
			const y = line.yAt(x);
			if (Number.isNaN(y)) continue;
			least = Math.min(least, y > box.bottom ? y - box.bottom : y < box.top ? box.top - y : -1);
		}
	return least;
}

const overlaps = (a: Box, b: Box) =>
	a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

/** Box of a label just above (-1) or below (+1) its line at x; null where the line is not drawn. */
function boxBeside(line: LabelledLine, x: number, side: -1 | 1): Box | null {
	const half = textWidth(line.text) / 2;
	let edge = side === -1 ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY;
	for (let at = x - half - 6; at <= x + half + 6; at += 4) {
		const y = line.yAt(at);
		if (Number.isNaN(y)) return null;
		edge = side === -1 ? Math.min(edge, y) : Math.max(edge, y);
	}
	const top = side === -1 ? edge - GAP - HEIGHT : edge + GAP;
	return { left: x - half, right: x + half, top, bottom: top + HEIGHT };
}

/**
 * Labels each line beside itself where it is furthest from all the others. A line that offers no free
 * place gets none: the table under the chart still has it.
 */
export function placeLineLabels(
	lines: readonly LabelledLine[],
	width: number,
	height: number
): LineLabel[] {
	const taken: Box[] = [];
	const placed: LineLabel[] = [];
	for (const line of lines) {
		let best: { box: Box; score: number } | null = null;
		for (let fraction = 0.06; fraction <= 0.95; fraction += 0.02)
			for (const side of [-1, 1] as const) {
				const box = boxBeside(line, fraction * width, side);
				if (!box || box.left < 2 || box.right > width - 2) continue;
				if (box.top < 2 || box.bottom > height - 2) continue;
				if (taken.some((other) => overlaps(box, other))) continue;
				const others = lines.filter((other) => other !== line);
				const score = Math.min(clearance(box, others), 14) + (side === -1 ? 0.5 : 0);
				if (score > 1 && (!best || score > best.score)) best = { box, score };
			}
		if (!best) continue;
		taken.push(best.box);
		placed.push({
			text: line.text,
			x: (best.box.left + best.box.right) / 2,
			y: best.box.bottom - 2
		});
	}
	return placed;
}
