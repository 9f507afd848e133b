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
	readonly isNewBatch: boolean;
	readonly ready: boolean;
}

interface Choice {
	readonly value: string;
	readonly label: string;
}

/** What the fields of a drum log choose from. */
export interface BatchChoices {
	readonly roasts: readonly Choice[];
	/** Value of the roast that is not on record yet. */
	readonly newBatch: string;
	readonly products: readonly Choice[];
	readonly roasters: readonly Choice[];
}
