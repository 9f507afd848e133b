/** One thing that happened, for a `Timeline`. */
export interface TimelineEvent {
	readonly key: string | number;
	/** When, in the site's words, for example `12 Nov 2026`. */
	readonly when: string;
	/** The same for machines, ISO 8601. */
	readonly dateTime: string;
	readonly title: string;
	/** Where the record is. */
	readonly href?: string;
	readonly by?: string;
	/** One sentence. */
	readonly detail?: string;
}
