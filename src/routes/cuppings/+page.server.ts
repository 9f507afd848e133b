import { loadSessionList } from '#lib/server/views/cupping/sessions.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = ({ locals }) => loadSessionList(locals.database.orm);
