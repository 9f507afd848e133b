/** One file of an intake as the page gets it. */
export interface IntakeRowData {
	readonly id: number;
	readonly version: number;
	readonly fileName: string;
	readonly kind: 'sample' | 'drum' | null;
	readonly understood: string;
	readonly columns: string;
	readonly about: Readonly<Record<string, string>>;
	readonly problems: readonly {
		readonly path: string;
		readonly message: string;
		readonly href: string | null;
	}[];
	readonly wrong: Readonly<Record<string, string>>;
	readonly needs: readonly string[];
	readonly note: string | null;
	readonly isRecorded: boolean;
	readonly ready: boolean;
}
