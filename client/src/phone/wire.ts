// What the boat's socket carries, from the server's own types.
import type { FromPhone } from "../wire/FromPhone.ts";
import type { PhoneFix } from "../wire/PhoneFix.ts";
import type { PhoneSignal } from "../wire/PhoneSignal.ts";
import type { ToPhone } from "../wire/ToPhone.ts";

export type { FromPhone, PhoneFix, PhoneSignal, ToPhone };

/** The version of the feed that this page speaks. */
export const FEED_VERSION = 1;

/** Fixes in one message at most; the server refuses more. */
export const FIXES_MAX = 600;

/** Why the server closed the socket for good. */
export const CLOSED_REPLACED = 4002;
export const CLOSED_KEY = 4003;
export const CLOSED_VERSION = 4004;
