import { good, type Outcome } from '#lib/domain/quantity/problem.ts';
import { countStale } from '../store/readings.ts';
import { note, type Deed } from './act.ts';

/** Notes that somebody asks for every log of an older method to be read again; the job then does it. */
export async function askToReadAnew(deed: Deed): Promise<Outcome<{ logs: number }>> {
	const logs = await countStale(deed.tx);
	await note(deed, 'read logs anew', null, { logs });
	return good({ logs });
}
