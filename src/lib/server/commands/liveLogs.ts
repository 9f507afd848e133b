import { and, eq } from 'drizzle-orm';
import { actorMay, actRefusal } from '#lib/domain/access/rights.ts';
import { bad, good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { liveLog, liveLogChunk } from '../db/schema.ts';
import { MAX_LOG_BYTES } from '../imports/decode.ts';
import { sha256Hex } from '../imports/hash.ts';
import { countOpenLiveLogs, findLiveLog, loadLiveChunks, type LiveLog } from '../store/liveLogs.ts';
import { note, type Deed } from './act.ts';
import { addIntakeFile } from './addIntakeFile.ts';
import { commitIntake } from './commitIntake.ts';
import { describeIntakeFiles } from './describeIntakeFiles.ts';
import { openIntake } from './openIntake.ts';

/**
 * Logs that a program sends in chunks while the roast runs. Rules:
 * 1. Every call may be repeated: what it already did, it doesn't do again.
 * 2. Chunks come in order; another content under a number that came is refused.
 * 3. Finishing takes the file in through the intake, in one transaction; what is refused leaves the log as
 *    it was, to be finished otherwise.
 * 4. A log is its sender's: to anyone else there is none of that id.
 * Problems of what is not there have the path `id`, of what is not in that state `state`, of too much `size`.
 */
export const MAX_OPEN_LIVE_LOGS = 50;

/** Starts a log under an id that the sender made (rule 1). */
export async function startLiveLog(
	deed: Deed,
	{ id, fileName }: { readonly id: string; readonly fileName: string }
): Promise<Outcome<LiveLog>> {
	const found = await findLiveLog(deed.tx, id);
	if (found) {
		const isSame = found.userId === deed.actor.userId && found.fileName === fileName;
		return isSame ? good(found) : conflict(`The id ${id} is taken by another log.`);
	}
	if ((await countOpenLiveLogs(deed.tx)) >= MAX_OPEN_LIVE_LOGS)
		return conflict(`${MAX_OPEN_LIVE_LOGS} logs are on their way already; finish or drop one.`);
	const { userId } = deed.actor;
	await deed.tx.insert(liveLog).values({ id, fileName, userId, startedAt: deed.now, by: deed.by });
	await note(deed, 'start live log', null, { id, file: fileName });
	return standing(deed, id);
}

/** Keeps the next chunk (rule 2). It is no act of its own in the audit: start and finish are. */
export async function addLiveChunk(
	deed: Deed,
	{
		id,
		number,
		bytes
	}: { readonly id: string; readonly number: number; readonly bytes: Uint8Array }
): Promise<Outcome<LiveLog>> {
	if (!actorMay(deed.actor, 'start live log'))
		return bad({ path: 'right', message: actRefusal(deed.actor, 'start live log') });
	const own = await requireOwn(deed, id);
	if (!own.ok) return own;
	const log = own.value;
	if (log.finishedAt !== null) return conflict('The log is finished; nothing can be added.');
	const sha256 = sha256Hex(bytes);
	if (number < log.chunks) {
		const [there] = await deed.tx
			.select({ sha256: liveLogChunk.sha256 })
			.from(liveLogChunk)
			.where(and(eq(liveLogChunk.liveLogId, id), eq(liveLogChunk.number, number)));
		return there?.sha256 === sha256
			? good(log)
			: conflict(`Chunk ${number} came already with other bytes; nothing was changed.`);
	}
	if (number > log.chunks)
		return conflict(`Found chunk ${number}, expected ${log.chunks} next; nothing was kept.`);
	if (bytes.length === 0) return bad({ path: 'body', message: 'Found an empty chunk.' });
	if (log.bytes + bytes.length > MAX_LOG_BYTES)
		return bad({
			path: 'size',
			message: `A log is at most ${MAX_LOG_BYTES} bytes; nothing was kept.`
		});
	await deed.tx
		.insert(liveLogChunk)
		.values({ liveLogId: id, number, sha256, bytes: Buffer.from(bytes) });
	return standing(deed, id);
}

export interface LiveLogFinish {
	readonly id: string;
	readonly chunks: number;
	/** Of the whole file, hexadecimal. */
	readonly sha256: string;
	/** Fields of the intake by name; what is missing is guessed as for a file. */
	readonly about: Readonly<Record<string, string>>;
	/** False leaves the file in an open intake. */
	readonly record: boolean;
}

/** Takes the log in (rule 3). */
export async function finishLiveLog(deed: Deed, input: LiveLogFinish): Promise<Outcome<LiveLog>> {
	const own = await requireOwn(deed, input.id);
	if (!own.ok) return own;
	const log = own.value;
	if (log.finishedAt !== null)
		return log.sha256 === input.sha256
			? good(log)
			: conflict('The log was finished with other bytes.');
	if (log.chunks !== input.chunks)
		return conflict(`Found ${log.chunks} chunks, expected ${input.chunks}; send the others first.`);
	const bytes = Buffer.concat((await loadLiveChunks(deed.tx, input.id)).map((one) => one.bytes));
	if (sha256Hex(bytes) !== input.sha256)
		return conflict('The chunks do not make the file of that SHA-256; drop it and send it anew.');
	const taken = await takeIn(deed, log, bytes, input);
	if (!taken.ok) return taken;
	const { intakeId } = taken.value;
	await deed.tx
		.update(liveLog)
		.set({ finishedAt: deed.now, sha256: input.sha256, intakeId })
		.where(eq(liveLog.id, input.id));
	await deed.tx.delete(liveLogChunk).where(eq(liveLogChunk.liveLogId, input.id));
	await note(deed, 'finish live log', null, {
		id: input.id,
		file: log.fileName,
		intakeId,
		recorded: input.record
	});
	return standing(deed, input.id);
}

async function takeIn(
	deed: Deed,
	{ fileName }: LiveLog,
	bytes: Uint8Array,
	{ about, record }: LiveLogFinish
): Promise<Outcome<{ intakeId: number }>> {
	const opened = await openIntake(deed);
	if (!opened.ok) return opened;
	const { intakeId } = opened.value;
	const lotCode = about['lot'] ?? null;
	const added = await addIntakeFile(deed, { intakeId, fileName, bytes, lotCode });
	if (!added.ok) return added;
	const files = [{ fileId: added.value.fileId, version: 1, about }];
	const described = await describeIntakeFiles(deed, { intakeId, files });
	if (!described.ok) return described;
	if (record) {
		const committed = await commitIntake(deed, { intakeId, versions: described.value });
		if (!committed.ok) return committed;
	}
	return good({ intakeId });
}

/** Throws away a log that was not finished. */
export async function dropLiveLog(deed: Deed, id: string): Promise<Outcome<null>> {
	const own = await requireOwn(deed, id);
	if (!own.ok) return own;
	if (own.value.finishedAt !== null) return conflict('The log is finished and stays.');
	await deed.tx.delete(liveLogChunk).where(eq(liveLogChunk.liveLogId, id));
	await deed.tx.delete(liveLog).where(eq(liveLog.id, id));
	await note(deed, 'drop live log', null, { id, file: own.value.fileName });
	return good(null);
}

async function requireOwn(deed: Deed, id: string): Promise<Outcome<LiveLog>> {
	const found = await findLiveLog(deed.tx, id);
	return found && found.userId === deed.actor.userId
		? good(found)
		: bad({ path: 'id', message: `There is no live log ${id}.` });
}

async function standing(deed: Deed, id: string): Promise<Outcome<LiveLog>> {
	return good((await findLiveLog(deed.tx, id))!);
}

function conflict(message: string): Outcome<never> {
	return bad({ path: 'state', message });
}
