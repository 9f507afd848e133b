import { exportEntries } from '#lib/server/views/export/all.ts';
import type { PageServerLoad } from './$types';

export const load: PageServerLoad = () => ({ entries: exportEntries() });
