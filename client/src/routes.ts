// Every address of the server that the pages use.

/** The tablets' socket. */
export const LIVE = "/live";

/** The page by which a phone comes to trust the server. */
export const TRUST = "/trust";

/** The optional base map. */
export const BASE_MAP = "/basemap.pmtiles";

/**
 * The socket's full address for a page at `location`. `tablet` is a name that this tablet made up
 * and keeps while the page is open, so that a request sent again on a new connection is known.
 */
export function liveUrl(location: { protocol: string; host: string }, tablet: string): string {
  const scheme = location.protocol === "https:" ? "wss:" : "ws:";
  return `${scheme}//${location.host}${LIVE}?tablet=${encodeURIComponent(tablet)}`;
}
