/** The newest results of a computation that is the same for the same key. */
export type Keep<V> = (key: string, make: () => V | Promise<V>) => Promise<V>;

/**
 * Keeps so many results, those asked for last; a key names everything that its result depends on. What
 * throws is not kept.
 */
export function keepNewest<V>(most: number): Keep<V> {
	const kept = new Map<string, V>();
	return async (key, make) => {
		const found = kept.has(key) ? (kept.get(key) as V) : await make();
		kept.delete(key);
		kept.set(key, found);
		if (kept.size > most) kept.delete(kept.keys().next().value!);
		return found;
	};
}
