import { createHash } from 'node:crypto';

/** SHA-256 of a file's bytes as 64 hex digits: the same bytes twice are the same file, whatever its name. */
export function sha256Hex(bytes: Uint8Array): string {
	return createHash('sha256').update(bytes).digest('hex');
}
