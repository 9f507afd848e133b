import { buildIfNeeded } from '../../src/cli/support/build.ts';

/** Vitest's set-up of the browser project: the servers of its tests serve the build as it is. */
export default async function buildOnce(): Promise<void> {
	await buildIfNeeded();
}
