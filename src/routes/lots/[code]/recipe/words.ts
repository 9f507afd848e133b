/** Marks of a recipe in words. */
export const MARK_LABELS = {
	turningPoint: 'Turning point',
	colourChange: 'Colour change',
	firstCrack: 'First crack',
	drop: 'Drop'
} as const;
