/**
 * Words for time. An instant is a number of milliseconds since 1970-01-01T00:00:00Z; a day and a week
 * belong to the site's time zone and are kept as ISO 8601 text, so they sort and compare as strings.
 */

/** Milliseconds since 1970-01-01T00:00:00Z. */
export type InstantMs = number;

/** ISO 8601 calendar date, `2026-11-25`, in the site's time zone. */
export type Day = string;

/** ISO 8601 week, `2026-W48`, in the site's time zone. */
export type IsoWeek = string;
