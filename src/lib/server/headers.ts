/**
 * What every answer tells the browser to refuse. A page's own content-security policy, with a nonce for
 * each script, is made by Kit (vite.config.ts); this is for all the rest.
 */
const PERMISSIONS = [
	'accelerometer',
	'camera',
	'display-capture',
	'geolocation',
	'gyroscope',
	'microphone',
	'midi',
	'payment',
	'usb'
];

const ALWAYS: Readonly<Record<string, string>> = {
	'x-content-type-options': 'nosniff',
	'x-frame-options': 'DENY',
	'referrer-policy': 'same-origin',
	'cross-origin-opener-policy': 'same-origin',
	'cross-origin-resource-policy': 'same-origin',
	'permissions-policy': PERMISSIONS.map((name) => `${name}=()`).join(', ')
};

/** A year; the name alone, since other services may share its domain. */
const ONLY_HTTPS = { 'strict-transport-security': 'max-age=31536000' };

/** For every answer, files included. */
export function securityHeaders(isHttps: boolean): Readonly<Record<string, string>> {
	return isHttps ? { ...ALWAYS, ...ONLY_HTTPS } : ALWAYS;
}

/** The policy of an answer that is no page: it loads, runs and frames nothing. */
export function filePolicy(contentType: string): string {
	// A browser shows a PDF by a page of its own, which loads what it needs.
	const nothing = contentType.startsWith('application/pdf') ? '' : "default-src 'none'; ";
	return `${nothing}base-uri 'none'; form-action 'none'; frame-ancestors 'none'`;
}
