import type { HTMLInputAttributes } from 'svelte/elements';

/** One field of a record's form; its name is the heading of its column in the table's file. */
export interface RecordField {
	readonly name: string;
	readonly label: string;
	readonly unit?: string;
	readonly hint?: string;
	readonly optional?: boolean;
	readonly type?: 'text' | 'date';
	readonly inputmode?: HTMLInputAttributes['inputmode'];
	/** Makes it a select. */
	readonly choices?: readonly { readonly value: string; readonly label: string }[];
	/** Makes it a text area of so many lines. */
	readonly lines?: number;
}
