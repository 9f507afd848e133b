/** What a reading says of the first crack. */
export const VERDICT_WORDS = {
	distinct: 'distinct',
	weak: 'weak',
	none: 'no distinct crack',
	unread: "can't be read"
} as const;
