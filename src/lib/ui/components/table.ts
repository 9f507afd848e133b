/** One column of a `DataTable`. */
export interface Column {
	/** Also the word used in the address to sort by this column. */
	readonly key: string;
	readonly label: string;
	/** Shown small beside the heading; the cells then carry the bare number. */
	readonly unit?: string;
	/** Numbers: aligned at the right, never wrapped. */
	readonly numeric?: boolean;
	/** The heading becomes a link that sorts; needs the table's `at`. */
	readonly sortable?: boolean;
	/** Sentences: wide enough to read, even where the table has to scroll for it. */
	readonly wordy?: boolean;
	/** Hides the heading's words from sight (an actions column). */
	readonly quiet?: boolean;
}
