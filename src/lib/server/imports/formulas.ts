/**
 * Text that a spreadsheet would take for a formula. Rules:
 * 1. It begins with one of the characters that OWASP's page on CSV injection lists, or their wide forms.
 * 2. Disarmed, it has a single quote before it. Text that begins with quotes and then such a character gets one
 *    more, so that what is disarmed can be told from what was written so.
 * 3. Armed again, as our own import does, it is what it was.
 */
const FORMULA = /^'*[=+\-@\t\r\n＝＋－＠]/;
const DISARMED = /^'+[=+\-@\t\r\n＝＋－＠]/;

/** Text that no spreadsheet works out (rule 2); null when it needs nothing. */
export function disarmed(text: string): string | null {
	return FORMULA.test(text) ? `'${text}` : null;
}

/** Text as it was before it was disarmed (rule 3). */
export function armed(text: string): string {
	return DISARMED.test(text) ? text.slice(1) : text;
}
