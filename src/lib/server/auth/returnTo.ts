/**
 * Where to go after signing in: a path of this site or `/`, whatever was sent. What a browser would take
 * for another site (`//x`, `/\x`, a scheme, a tab inside) is refused by reading it as a browser does.
 */
export function localPath(sent: string | null | undefined): string {
	if (!sent || sent.length > 2000 || !sent.startsWith('/') || hasControls(sent)) return '/';
	const base = 'http://site.invalid';
	if (!URL.canParse(sent, base)) return '/';
	const { origin, pathname, search, hash } = new URL(sent, base);
	if (origin !== base || /^\/[/\\]/.test(pathname) || sent.includes('\\')) return '/';
	return pathname + search + hash;
}

function hasControls(text: string): boolean {
	return /[\p{Cc}\p{Cf}\p{Zs}]/u.test(text);
}
