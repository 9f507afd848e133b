import { globSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT } from '../../src/cli/support/build.ts';

/** A form as a page shows it: where it is sent and what a browser would send untouched. */
export interface Form {
	/** Address with the action's name, e.g. `/lots/HR-151?/measurement`. */
	readonly address: string;
	readonly fields: readonly (readonly [name: string, value: string])[];
	/** Names of fields that take files. */
	readonly files: readonly string[];
	/** Its own buttons that send it elsewhere (`formaction`), resolved. */
	readonly otherAddresses: readonly string[];
}

/** The forms of a page that are sent by POST, read from its HTML as it comes without script. */
export function formsOf(html: string, page: string): Form[] {
	return [...html.matchAll(/<form\b([^>]*)>([\s\S]*?)<\/form>/g)]
		.filter(([, head = '']) => /method="post"/i.test(head))
		.map(([, head = '', body = '']) => {
			const id = attribute(head, 'id');
			const outside = id === null ? '' : elementsOf(html, id);
			const inside = body + outside;
			return {
				address: resolved(attribute(head, 'action') ?? '', page),
				fields: fieldsOf(inside),
				files: tagsOf(inside, 'input')
					.filter((tag) => attribute(tag, 'type') === 'file')
					.flatMap((tag) => attribute(tag, 'name') ?? []),
				otherAddresses: tagsOf(inside, 'button').flatMap((tag) => {
					const action = attribute(tag, 'formaction');
					return action === null ? [] : [resolved(action, page)];
				})
			};
		});
}

function resolved(action: string, page: string): string {
	const { pathname, search } = new URL(action, `http://localhost${page.split('?')[0]}`);
	return pathname + search;
}

/** Fields that stand elsewhere on the page and belong to the form of that id. */
function elementsOf(html: string, id: string): string {
	return ['input', 'select', 'textarea', 'button']
		.flatMap((name) =>
			[...html.matchAll(new RegExp(`<${name}\\b[^>]*\\bform="${id}"[^>]*>`, 'g'))].map(
				(match) => match[0]
			)
		)
		.join('');
}

function tagsOf(html: string, name: string): string[] {
	return [...html.matchAll(new RegExp(`<${name}\\b([^>]*)>`, 'g'))].map((match) => match[1]!);
}

function fieldsOf(html: string): [string, string][] {
	const inputs = tagsOf(html, 'input')
		.filter((tag) => attribute(tag, 'type') !== 'file')
		.filter(
			(tag) => !/radio|checkbox/.test(attribute(tag, 'type') ?? '') || /\bchecked\b/.test(tag)
		)
		.map((tag) => [attribute(tag, 'name'), attribute(tag, 'value') ?? 'on'] as const);
	const areas = [...html.matchAll(/<textarea\b([^>]*)>([\s\S]*?)<\/textarea>/g)].map(
		([, tag = '', text = '']) => [attribute(tag, 'name'), plain(text)] as const
	);
	const selects = [...html.matchAll(/<select\b([^>]*)>([\s\S]*?)<\/select>/g)].map(
		([, tag = '', options = '']) => [attribute(tag, 'name'), chosen(options)] as const
	);
	const buttons = tagsOf(html, 'button')
		.slice(0, 1)
		.map((tag) => [attribute(tag, 'name'), attribute(tag, 'value') ?? ''] as const);
	return [...inputs, ...areas, ...selects, ...buttons].flatMap(([name, value]) =>
		name === null ? [] : [[name, value]]
	);
}

function chosen(options: string): string {
	const tags = tagsOf(options, 'option');
	const tag = tags.find((each) => /\bselected\b/.test(each)) ?? tags[0] ?? '';
	return attribute(tag, 'value') ?? '';
}

function attribute(tag: string, name: string): string | null {
	const match = new RegExp(`(?:^|\\s)${name}="([^"]*)"`).exec(tag);
	return match ? plain(match[1]!) : null;
}

const plain = (text: string) =>
	text
		.replaceAll('&quot;', '"')
		.replaceAll('&lt;', '<')
		.replaceAll('&gt;', '>')
		.replaceAll('&#39;', "'")
		.replaceAll('&amp;', '&');

/** Folders of src/routes with actions, `/lots/[code]`, and the names of their actions. */
export async function routeActions(): Promise<ReadonlyMap<string, readonly string[]>> {
	const found = new Map<string, readonly string[]>();
	for (const path of globSync('src/routes/**/+page.server.ts', { cwd: ROOT }).sort()) {
		const module = (await import(join(ROOT, path))) as { actions?: object };
		if (module.actions === undefined) continue;
		const folder = path.replace(/^src\/routes/, '').replace(/\/\+page\.server\.ts$/, '') || '/';
		found.set(folder, Object.keys(module.actions));
	}
	return found;
}
