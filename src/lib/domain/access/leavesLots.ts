import { INTAKE_ACTS, isOnAccount, type ActName } from './rights.ts';

/** Acts that name no lot and leave the records of every lot as they are. */
const LEAVING_LOTS: ReadonlySet<string> = new Set<ActName>([
	...INTAKE_ACTS,
	'open cupping session',
	'score a cup',
	'look at a cupping key',
	'plan week',
	'search week plan',
	'stop week plan search',
	'keep found week plan',
	'drop found week plan',
	'lock slot',
	'unlock slot',
	'copy last week',
	'save demand',
	'save supplier',
	'save log settings',
	'save shifts',
	'save plan settings',
	'save breaks',
	'save profiling hours',
	'save closures',
	'save what runs where',
	'save testing budget',
	'save journal accounts',
	'save blend',
	'make backup',
	'download backup'
]);

/** Whether an act that names no lot leaves the records of every lot as they are. */
export function leavesLots(act: string): boolean {
	return LEAVING_LOTS.has(act) || isOnAccount(act);
}
