import loadHighs from 'highs';
import type { RelaxedWeek } from '#lib/domain/plan/relaxed.ts';

/** Loaded once: compiling it takes as long as a small week. */
let loading: ReturnType<typeof loadHighs> | null = null;
function solver(): ReturnType<typeof loadHighs> {
	loading ??= loadHighs();
	return loading;
}

/**
 * The proven least cost of a relaxed week, roaster minutes, by HiGHS (branch and cut); null where it was not
 * solved to its optimum in the time. It blocks its thread. The solver counts in floating point with a
 * tolerance of a millionth; what it proves is given that much lower, a thousandth of a minute at least.
 */
export async function provenLeast(relaxed: RelaxedWeek, seconds: number): Promise<number | null> {
	const highs = await solver();
	return highs.withModel({ format: 'lp', data: relaxed.text }, (model) => {
		model.options.set({
			output_flag: false,
			time_limit: seconds,
			mip_rel_gap: 0,
			mip_abs_gap: 1e-6
		});
		model.run();
		if (model.getModelStatus() !== highs.constants.modelStatus.optimal) return null;
		const least = Number(model.info.get('mip_dual_bound')) + relaxed.constant;
		return Number.isFinite(least) ? least - Math.max(1e-3, 1e-6 * Math.abs(least)) : null;
	});
}
