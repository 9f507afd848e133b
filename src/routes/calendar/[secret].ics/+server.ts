import { error } from '@sveltejs/kit';
import { calendarText } from '#lib/server/documents/calendar.ts';
import { loadCalendar } from '#lib/server/views/calendar.ts';
import type { RequestHandler } from './$types';

export const GET: RequestHandler = async ({ locals, params }) => {
	const calendar = await loadCalendar(locals.database.orm, locals.now, params.secret);
	if (!calendar) error(404, 'There is no calendar at this address, or not any more.');
	return new Response(calendarText(calendar, locals.now), {
		headers: {
			'content-type': 'text/calendar; charset=utf-8',
			'content-disposition': 'inline; filename="trierbook.ics"',
			'cache-control': 'private, no-store'
		}
	});
};
