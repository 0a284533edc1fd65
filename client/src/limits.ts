// Every bound and every age at which the screen changes its mind, with the reason beside it.

/** Silence of the server after which the link is called slow. The hub speaks at least once a second. */
export const LINK_SLOW_MS = 2_500;

/** Silence of the server after which nobody is watching. A minute unnoticed would be a drowning. */
export const LINK_LOST_MS = 5_000;

/** First and longest wait before the next attempt to connect. */
export const RETRY_FIRST_MS = 500;
export const RETRY_MAX_MS = 8_000;

/** An action without an answer after this long is called unconfirmed. */
export const ACTION_LATE_MS = 6_000;

/** What was done stays on the screen this long, so that it can be taken back at once. */
export const DONE_SHOWN_MS = 60_000;

/** Actions shown as waiting at most; more are refused, since a person cannot oversee them. */
export const ACTIONS_MAX = 32;

/** A position older than this is drawn as old. Sparse feeds report every 5 s; two may be missed. */
export const FIX_OLD_MS = 15_000;

/** A position older than this is drawn as the last known one only. */
export const FIX_LOST_MS = 60_000;

/** Trail points kept for each boat: ten minutes at 1 Hz. The oldest go first. */
export const TRAIL_MAX = 600;

/** Trail points closer in time than this are not kept apart. */
export const TRAIL_STEP_MS = 900;

/** How far back the chart draws a trail for every boat, and for the chosen one. */
export const TRAIL_SHOWN_MS = 120_000;
export const TRAIL_CHOSEN_MS = 600_000;

/** Wind kept for the trend plot: twenty minutes at one value each 10 s. */
export const WIND_MAX = 120;
export const WIND_STEP_MS = 10_000;

/** Lines of the log kept on the tablet; the server keeps them all. */
export const LOG_MAX = 400;

/** Manoeuvres kept on the tablet. */
export const MANOEUVRES_MAX = 400;

/** Cleared alerts kept in sight on the tablet. */
export const CLEARED_MAX = 40;

/** A wind older than this is shown as old. */
export const WIND_OLD_MS = 60_000;

/** One standard deviation of position above which the chart shows a ring. */
export const RING_FROM_M = 8;

/** Silence of an alert is temporary: 30 s, after IMO MSC.252(83) 20.2.5. */
export const SILENCE_MS = 30_000;

/**
 * Break points of the time in the water, minutes: cold shock within 3 to 5 and swimming failure
 * within 30 (Brooks 2003, TP 13822); useful movement about 10 (Giesbrecht, 1-10-1).
 */
export const WATER_BREAKS_MIN = [3, 10, 30] as const;
