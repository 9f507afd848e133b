/**
 * Why the body of a request could not be read: a status, and words for whoever sent it. Nothing of such a body
 * has been kept, since forms are read whole before anything is done.
 * @param thrown what reading it threw
 */
export function bodyRefusal(thrown: unknown): [status: number, message: string] {
	if (statusOf(thrown) === 413)
		return [
			413,
			'What was sent is larger than this server takes at once; nothing was kept. Send fewer or smaller files.'
		];
	return [400, 'The form did not arrive whole, so nothing was done. Go back and send it again.'];
}

/** The status that an error or what caused it bears; null when none does. */
function statusOf(thrown: unknown): number | null {
	for (let each = thrown; each instanceof Error; each = each.cause) {
		const status = (each as { status?: unknown }).status;
		if (typeof status === 'number') return status;
	}
	return null;
}
