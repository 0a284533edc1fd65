// Every address of the server that the pages use.

/** The tablets' socket. */
export const LIVE = "/live";

/** The optional base map. */
export const BASE_MAP = "/basemap.pmtiles";

/** The socket's full address for a page at `location`. */
export function liveUrl(location: { protocol: string; host: string }): string {
  return `${location.protocol === "https:" ? "wss:" : "ws:"}//${location.host}${LIVE}`;
}
