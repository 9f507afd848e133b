import type { Statement } from '#lib/domain/release/words.ts';
import type { PlotSpan } from '../charts/plot.ts';

/** The stretches of a chart that the statements rest on, numbered as they are listed. */
export function spansOf(statements: readonly Statement[]): PlotSpan[] {
	return statements.map(({ rule, span }, index) => ({
		number: index + 1,
		label: rule,
		fromS: span.fromS,
		toS: span.toS
	}));
}

/** Whether the table has nothing to say about the time before the crack though the curve could tell. */
export function isUsualBefore(statements: readonly Statement[]): boolean {
	const ended = statements.some(({ rule }) => rule === 'roast ended before the crack');
	return !ended && statements.every(({ topic }) => topic !== 'before the crack');
}
