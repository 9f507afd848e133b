import type { Place } from './path.ts';

/** A moment named at the top of a plot. */
export interface PlotMark {
	readonly label: string;
	readonly timeS: number;
	/** Noted by a person, not computed: drawn with another dash. */
	readonly byHand?: boolean;
	/** The one that matters most: drawn heavier and placed first. */
	readonly strong?: boolean;
}

/** A named stretch of time, shown as a strip above the plot. */
export interface PlotBand {
	readonly label: string;
	/** Used where the label doesn't fit. */
	readonly short: string;
	readonly fromS: number;
	readonly toS: number;
	/** Shaded through the whole plot. */
	readonly shaded?: boolean;
}

/** A stretch that something said under the chart rests on, drawn below the axis with the same number. */
export interface PlotSpan {
	readonly number: number;
	/** What is said of it, in a few words. */
	readonly label: string;
	readonly fromS: number;
	readonly toS: number;
}

export interface PlotAxis {
	readonly domain: readonly [number, number];
	/** Written above the axis. */
	readonly label: string;
}

/** One figure of the reading line. */
export interface Readout {
	readonly label: string;
	readonly value: string;
}

/** What the drawing inside a plot gets: places in px and the index under the reading line. */
export interface Frame {
	readonly x: Place;
	readonly y: Place;
	/** The right axis; the same as `y` where there is none. */
	readonly y2: Place;
	readonly width: number;
	readonly height: number;
	readonly cursor: number | null;
}

/** The numbers of a chart as text, for the table under it. */
export interface PlotTable {
	readonly head: readonly string[];
	readonly rows: readonly (readonly string[])[];
}

/** Dashes by which thin lines are told apart; the one that matters is `strong`. */
export const LINE_STYLES = ['dash', 'dot', 'dash-dot', 'soft', 'soft-dash', 'soft-dot'] as const;
export type LineStyle = 'strong' | (typeof LINE_STYLES)[number];
