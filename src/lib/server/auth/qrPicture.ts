import { encode } from 'uqr';

/** A picture that a telephone reads, as one SVG path on a square of `size` units, its quiet edge included. */
export interface QrPicture {
	readonly size: number;
	readonly path: string;
}

/** Four units of quiet edge, as ISO/IEC 18004 asks (from memory). */
const EDGE = 4;

/** Text as a QR code. Throws RangeError for more text than one holds. */
export function qrPicture(text: string): QrPicture {
	const { data, size } = encode(text, { ecc: 'M', border: EDGE });
	const path = data
		.flatMap((row, y) => row.map((isDark, x) => (isDark ? `M${x} ${y}h1v1h-1z` : '')))
		.join('');
	return { size, path };
}
