/** The tabs that all pages of costs share; `period` stays when one goes back to the statement. */
export function costTabs(period: string | null = null) {
	return [
		{ href: statementHref(period), label: 'Statement' },
		{ href: '/cost/trend', label: 'Is it falling?' },
		{ href: '/cost/ahead', label: 'Still to come' },
		{ href: '/cost/production', label: 'Production batches' },
		{ href: '/cost/ahead?view=price', label: 'Cost of a roasted kg' },
		{ href: '/cost?view=landed', label: 'Landed cost of green' },
		{ href: '/cost/accounts', label: 'Accounts' }
	];
}

/** The address of the statement of a period. */
export function statementHref(period: string | null): string {
	return period === null ? '/cost' : `/cost?period=${period}`;
}
