import { perform } from '../commands/act.ts';
import { addLiveChunk, dropLiveLog, finishLiveLog, startLiveLog } from '../commands/liveLogs.ts';
import { findLiveLog, type LiveLog } from '../store/liveLogs.ts';
import { operation, type Operation } from './operation.ts';
import { ApiProblem, orProblem } from './problem.ts';
import * as s from './schemas.ts';

/**
 * A log sent while the roast runs: started under a number that the sender makes, sent in chunks counted from
 * 0, finished by a call that takes it in as a file. Each call may be repeated; after a break the sender asks
 * what is expected next.
 */
const iso = (instant: number) => new Date(instant).toISOString();

function liveLogOf({ id, fileName, startedAt, chunks, bytes, finishedAt, intakeId }: LiveLog) {
	return {
		...{ id, fileName, bytes, intakeId },
		startedAt: iso(startedAt),
		nextChunk: chunks,
		finishedAt: finishedAt === null ? null : iso(finishedAt)
	};
}

export const SENDING: readonly Operation[] = [
	operation({
		id: 'startLiveLog',
		method: 'PUT',
		path: '/live-logs/{id}',
		summary: 'Starts a log that is sent in chunks',
		params: s.LIVE_LOG_NAME,
		query: s.NOTHING,
		body: s.LIVE_LOG_START,
		answer: s.LIVE_LOG,
		refusals: [404, 409],
		async run({ act, params, body }) {
			return liveLogOf(
				orProblem(await perform(act, (deed) => startLiveLog(deed, { ...params, ...body })))
			);
		}
	}),
	operation({
		id: 'getLiveLog',
		method: 'GET',
		path: '/live-logs/{id}',
		summary: 'How far a log has come, and which chunk is expected next',
		params: s.LIVE_LOG_NAME,
		query: s.NOTHING,
		body: null,
		answer: s.LIVE_LOG,
		refusals: [404],
		async run({ act, params }) {
			const found = await findLiveLog(act.database.orm, params.id);
			if (!found || found.userId !== act.actor.userId)
				throw new ApiProblem(404, `There is no live log ${params.id}.`);
			return liveLogOf(found);
		}
	}),
	operation({
		id: 'dropLiveLog',
		method: 'DELETE',
		path: '/live-logs/{id}',
		summary: 'Throws away a log that was not finished',
		params: s.LIVE_LOG_NAME,
		query: s.NOTHING,
		body: null,
		answer: null,
		refusals: [404, 409],
		async run({ act, params }) {
			orProblem(await perform(act, (deed) => dropLiveLog(deed, params.id)));
		}
	}),
	operation({
		id: 'putChunk',
		method: 'PUT',
		path: '/live-logs/{id}/chunks/{number}',
		summary:
			'Sends one chunk; the same bytes again are fine, others under the same number are refused',
		params: s.CHUNK_NAME,
		query: s.NOTHING,
		body: 'bytes',
		answer: s.LIVE_LOG,
		refusals: [404, 409, 413],
		async run({ act, params, body: bytes }) {
			return liveLogOf(
				orProblem(await perform(act, (deed) => addLiveChunk(deed, { ...params, bytes })))
			);
		}
	}),
	operation({
		id: 'finishLiveLog',
		method: 'POST',
		path: '/live-logs/{id}/finish',
		summary: 'Takes the log in as a file: all or nothing, by the rules of the intake',
		params: s.LIVE_LOG_NAME,
		query: s.NOTHING,
		body: s.LIVE_LOG_FINISH,
		answer: s.LIVE_LOG,
		refusals: [404, 409, 413, 422],
		async run({ act, params, body }) {
			return liveLogOf(
				orProblem(await perform(act, (deed) => finishLiveLog(deed, { ...params, ...body })))
			);
		}
	})
];
