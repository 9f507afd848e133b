import { error, fail, redirect } from '@sveltejs/kit';
import { bad, type Outcome } from '#lib/domain/quantity/problem.ts';
import { perform, type Deed } from '#lib/server/commands/act.ts';
import { addTestLog } from '#lib/server/commands/addLog.ts';
import { giveVerdict } from '#lib/server/commands/giveVerdict.ts';
import { readMeters } from '#lib/server/commands/readMeters.ts';
import { recordColour } from '#lib/server/commands/recordColour.ts';
import { recordCupping } from '#lib/server/commands/recordCupping.ts';
import { recordRecovery } from '#lib/server/commands/recordRecovery.ts';
import { recordTestRoast } from '#lib/server/commands/recordTestRoast.ts';
import { withdrawTest } from '#lib/server/commands/withdrawTest.ts';
import { instantOf } from '#lib/server/imports/cells.ts';
import { readFields } from '#lib/server/imports/fields.ts';
import type { LogInput } from '#lib/server/imports/parseLog.ts';
import { recoveriesTable, verdictsTable } from '#lib/server/imports/tables.ts';
import { loadMappingMemories } from '#lib/server/store/intake.ts';
import { loadProducts } from '#lib/server/store/production.ts';
import { requireSite, type Site } from '#lib/server/store/site.ts';
import { findTest } from '#lib/server/store/tests.ts';
import { loadTestPage } from '#lib/server/views/test.ts';
import { testHref } from '#lib/server/views/tests.ts';
import { readColour, sentLog } from '../../../drum/forms.server.ts';
import {
	fieldsOf,
	metersForm,
	readCupping,
	readDrumLog,
	RECOVERED_AT,
	refused,
	roastForm,
	type Fields
} from '../../forms.server.ts';
import { numberIn } from '../../../numberIn.ts';
import type { Actions, PageServerLoad, RequestEvent } from './$types';

export const load: PageServerLoad = async ({ locals, params, url }) => {
	const { lot, number } = params;
	const page = await loadTestPage(locals.database.orm, locals.now, lot, Number(number));
	if (!page) error(404, `There is no test ${number} of a lot ${lot}, or it was withdrawn.`);
	const asked = url.searchParams.get('form');
	return { ...page, form: asked === '2004' || asked === '2024' ? asked : page.usualForm };
};

/** What each form's act is done with. */
interface Post {
	readonly testBatchId: number;
	readonly site: Site;
	readonly fields: Fields;
	readonly form: FormData;
	readonly locals: App.Locals;
}

/** An act of this page: reads the form, does the deed, goes on to `then` or gives the form back. */
function acting(act: string, then: string, run: (post: Post) => Promise<Outcome<unknown>>) {
	return async ({ request, locals, params }: RequestEvent) => {
		const db = locals.database.orm;
		const [form, site, test] = await Promise.all([
			request.formData(),
			requireSite(db),
			findTest(db, params.lot, numberIn(params.number))
		]);
		if (!test) error(404, `There is no test ${params.number} of a lot ${params.lot}.`);
		const fields = fieldsOf(form);
		const done = await run({ testBatchId: test.batch.id, site, fields, form, locals });
		if (!done.ok) return fail(400, refused(act, fields, done.problems));
		redirect(
			303,
			then.startsWith('/') ? then : `${testHref(params.lot, test.batch.number)}${then}`
		);
	};
}

export const actions: Actions = {
	roast: acting('roast', '', recordRoast),
	withdraw: acting('withdraw', '/tests', ({ testBatchId, locals }) =>
		perform(locals, (deed) => withdrawTest(deed, { testBatchId }))
	),
	cup: acting('cup', '', async ({ testBatchId, site, fields, locals }) => {
		const read = readCupping(fields);
		if (!read.ok) return read;
		const cuppedAt = instantOf(read.value.cuppedAt, site.timeZone);
		return perform(locals, (deed) => recordCupping(deed, { ...read.value, testBatchId, cuppedAt }));
	}),
	verdict: acting('verdict', '', async ({ testBatchId, site, fields, locals }) => {
		const read = readFields({ ...fields, ...unasked(locals) }, verdictsTable, site.currency);
		if (!read.ok) return read;
		const { verdict, reason, at, againstReason } = read.value;
		return perform(locals, (deed) =>
			giveVerdict(deed, {
				...{ testBatchId, verdict, reason, againstReason },
				at: instantOf(at, site.timeZone)
			})
		);
	}),
	meters: acting('meters', '#cost', async ({ testBatchId, site, fields, locals }) => {
		const read = readFields(fields, metersForm, site.currency);
		if (!read.ok) return read;
		const meters = { ...read.value, batch: { testBatchId }, readAt: locals.now };
		return perform(locals, (deed) => readMeters(deed, meters));
	}),
	recovery: acting('recovery', '#recovery', recover),
	log: acting('log', '#roast', async ({ testBatchId, form, locals }) => {
		const file = await sentLog(form.get('log_file'), locals);
		if (!file.ok) return file;
		return perform(locals, (deed) => addTestLog(deed, { testBatchId, file: file.value }));
	}),
	colour: acting('colour', '#roast', async ({ testBatchId, site, fields, locals }) => {
		const read = readColour(fields);
		if (!read.ok) return read;
		const at = instantOf(read.value.at, site.timeZone);
		return perform(locals, (deed) =>
			recordColour(deed, { ...read.value, at, of: { testBatchId } })
		);
	})
};

/** Columns of a table that the page knows: the form does not ask for them. */
function unasked({ actor }: App.Locals): Fields {
	return { lot: '-', test: '1', by: actor.name };
}

async function recordRoast(post: Post): Promise<Outcome<unknown>> {
	const { testBatchId, site, fields, form, locals } = post;
	const [read, file] = await Promise.all([
		readFields(fields, roastForm, site.currency),
		uploadedLog(form.get('log_file'), locals)
	]);
	if (!read.ok || !file.ok)
		return bad(...(read.ok ? [] : read.problems), ...(file.ok ? [] : file.problems));
	const { roastedAt, ...roast } = read.value;
	return perform(locals, (deed) =>
		recordTestRoast(deed, {
			...roast,
			testBatchId,
			roastedAt: instantOf(roastedAt, site.timeZone),
			file: file.value
		})
	);
}

async function uploadedLog(
	file: FormDataEntryValue | null,
	{ database }: App.Locals
): Promise<Outcome<LogInput | null>> {
	if (!(file instanceof File) || file.size === 0) return { ok: true, value: null };
	const [bytes, remembered] = await Promise.all([
		file.arrayBuffer(),
		loadMappingMemories(database.orm)
	]);
	return readDrumLog(file.name, new Uint8Array(bytes), remembered);
}

async function recover({ testBatchId, site, fields, locals }: Post): Promise<Outcome<unknown>> {
	const at = fields[RECOVERED_AT] ?? '';
	const typed = { ...fields, ...unasked(locals), at, value: fields['value'] || '0' };
	const read = readFields(typed, recoveriesTable, site.currency);
	if (!read.ok)
		return bad(...read.problems.map((p) => (p.path === 'at' ? { ...p, path: RECOVERED_AT } : p)));
	const { kind, massG, valueMinor, product } = read.value;
	const products = await loadProducts(locals.database.orm);
	const productId = products.find(({ code }) => code === product)?.id ?? null;
	if (product !== null && productId === null)
		return bad({ path: 'product', message: `There is no product ${product}.` });
	const when = instantOf(read.value.at, site.timeZone);
	return perform(locals, (deed: Deed) =>
		recordRecovery(deed, { testBatchId, at: when, kind, massG, valueMinor, productId })
	);
}
