/** What is kept of a proposal with the test that was planned from it, so that it can be judged later. */
import { settingChanges, type ControlStep, type TestSettings } from './settings.ts';

export const PROPOSAL_KINDS = ['heat demand', 'one change'] as const;
export type ProposalKind = (typeof PROPOSAL_KINDS)[number];

export interface KeptProposal {
	readonly kind: ProposalKind;
	readonly settings: TestSettings;
	/** One sentence: why these settings. */
	readonly reason: string;
	/** What would confirm it. */
	readonly confirmedBy: string;
	/** Of the gas plan only. */
	readonly heat: {
		readonly referenceLot: string;
		readonly referenceVersion: number;
		readonly anchor: string;
		readonly unchangedGas: readonly ControlStep[];
		/** Root mean square distance from the reference's curve that was expected, C. */
		readonly expectedC: number;
		readonly expectedUnchangedC: number;
		readonly fitC: number;
		readonly lacked: readonly string[];
	} | null;
}

/** Whether a person planned other settings than were proposed. */
export function isEdited({ settings }: KeptProposal, planned: TestSettings): boolean {
	return settingChanges(settings, planned).length > 0;
}
