import { addressLine, serve } from './serve.ts';

/**
 * Prepares, serves, prints the address and the lines that `prepare` gave; stops on SIGTERM or SIGINT
 * and leaves with 0. A failure is said in words and leaves with 1. PORT is 4173 by default, 0 takes any
 * free one; HOST is 127.0.0.1.
 */
export async function serveUntilStopped(prepare: () => Promise<readonly string[]>): Promise<void> {
	try {
		const listenOn = readListenOn(process.env);
		const lines = await prepare();
		const serving = await serve(listenOn);
		const leave = () => void serving.stop().then(() => process.exit(0));
		for (const signal of ['SIGTERM', 'SIGINT'] as const) process.once(signal, leave);
		onParentGone(leave);
		console.log([addressLine(serving.address), ...lines].join('\n'));
	} catch (error) {
		console.error(error instanceof Error ? error.message : error);
		process.exit(1);
	}
}

/**
 * npm hands a signal to the shell between it and us, which ends without passing it on; so a server that
 * npm started also stops when that shell is gone, and never holds the port unseen.
 */
function onParentGone(leave: () => void): void {
	if (process.env['npm_lifecycle_event'] === undefined) return;
	const parent = process.ppid;
	const watch = setInterval(() => {
		if (process.ppid === parent) return;
		clearInterval(watch);
		leave();
	}, 500);
	watch.unref();
}

/** Port and interface from the environment. Throws, naming what it found, when PORT is no port. */
function readListenOn(env: NodeJS.ProcessEnv): { port: number; host: string | undefined } {
	const text = env['PORT'] || '4173';
	const port = Number(text);
	if (!Number.isInteger(port) || port < 0 || port > 65535)
		throw new Error(`PORT is "${text}"; expected a whole number from 0 to 65535.`);
	return { port, host: env['HOST'] || undefined };
}
