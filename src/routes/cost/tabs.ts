import { withQuery } from '#lib/ui/format/address.ts';

/** The address of a cut of the statement; `period` is `all` or null. */
export function statementHref(by: string | null, period: string | null): string {
	return withQuery({ pathname: '/cost', searchParams: new URLSearchParams() }, { by, period });
}

/** The tabs that all pages of costs share. */
export function costTabs(period: string | null = null) {
	return [
		{ href: statementHref(null, period), label: 'By month' },
		{ href: statementHref('lot', period), label: 'By lot' },
		{ href: statementHref('kind', period), label: 'By kind' },
		{ href: statementHref('roaster', period), label: 'By roaster' },
		{ href: '/cost/trend', label: 'Is it falling?' },
		{ href: '/cost/ahead', label: 'Still to come' },
		{ href: '/cost?view=landed', label: 'Landed cost of green' },
		{ href: '/cost/ahead?view=price', label: 'Cost of a roasted kg' }
	];
}
