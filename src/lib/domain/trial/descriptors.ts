/**
 * Descriptors as they are typed: words apart by commas or semicolons. The same word in other letters is
 * the same; the first way of writing it stays.
 */

/** The words of a text, each once, in their order. */
export function splitDescriptors(text: string): string[] {
	const words = text.split(/[,;]/).map((word) => word.trim().replace(/\s+/g, ' '));
	return once(words.filter((word) => word !== ''));
}

/** Several texts as one list, apart by commas. */
export function joinDescriptors(texts: readonly string[]): string {
	return once(texts.flatMap(splitDescriptors)).join(', ');
}

export interface DescriptorCount {
	readonly word: string;
	/** Texts that have it. */
	readonly count: number;
}

/** Words by how many of the texts have them, the commonest first, then by the alphabet. */
export function countDescriptors(texts: readonly string[]): DescriptorCount[] {
	const counts = new Map<string, { word: string; count: number }>();
	for (const word of texts.flatMap(splitDescriptors)) {
		const found = counts.get(word.toLowerCase());
		if (found) found.count += 1;
		else counts.set(word.toLowerCase(), { word, count: 1 });
	}
	return [...counts.values()].sort((a, b) => b.count - a.count || (a.word < b.word ? -1 : 1));
}

function once(words: readonly string[]): string[] {
	const seen = new Set<string>();
	return words.filter((word) => {
		const isNew = !seen.has(word.toLowerCase());
		seen.add(word.toLowerCase());
		return isNew;
	});
}
