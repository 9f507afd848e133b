/**
 * SVG for paper, by hand: the converter knows attributes only, no style sheets, so each mark carries its
 * own. Coordinates are rounded to a tenth.
 */
export type Attributes = Readonly<Record<string, string | number>>;

/** An element with its children, already SVG. */
export function element(
	name: string,
	attributes: Attributes,
	...children: readonly string[]
): string {
	const written = Object.entries(attributes)
		.map(
			([key, value]) => ` ${key}="${typeof value === 'number' ? rounded(value) : escaped(value)}"`
		)
		.join('');
	return children.length > 0
		? `<${name}${written}>${children.join('')}</${name}>`
		: `<${name}${written}/>`;
}

/** A text element. */
export function words(text: string, attributes: Attributes): string {
	return element('text', { 'font-family': 'Roboto', 'font-size': 7, ...attributes }, escaped(text));
}

/** A polyline through the points that are finite; a missing one leaves a gap. */
export function pathThrough(points: readonly (readonly [number, number])[]): string {
	let path = '';
	let isDrawing = false;
	for (const [x, y] of points) {
		if (!Number.isFinite(y)) {
			isDrawing = false;
			continue;
		}
		path += `${isDrawing ? 'L' : 'M'}${rounded(x)} ${rounded(y)}`;
		isDrawing = true;
	}
	return path;
}

/** Round marks from 0 to `top`: 1, 2 or 5 times a power of ten apart, about `count` of them. */
export function roundTicks(top: number, count: number): number[] {
	if (!(top > 0)) return [0];
	const raw = top / count;
	const power = 10 ** Math.floor(Math.log10(raw));
	const step = ([1, 2, 5, 10].find((factor) => factor * power >= raw) ?? 10) * power;
	return Array.from({ length: Math.floor(top / step + 1e-9) + 1 }, (_, i) => i * step);
}

function rounded(value: number): string {
	return String(Math.round(value * 10) / 10);
}

function escaped(text: string): string {
	return text
		.replaceAll('&', '&amp;')
		.replaceAll('<', '&lt;')
		.replaceAll('>', '&gt;')
		.replaceAll('"', '&quot;');
}
