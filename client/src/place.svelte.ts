// Which screen is shown: the address, so that it can be kept, shared and reloaded.

/** Every screen of the tablet. */
export const SCREENS = ["/", "/ashore", "/day", "/feeds"] as const;

/** One of them. */
export type Screen = (typeof SCREENS)[number];

/** An address that is no screen leads to the watch. */
export function screenOf(path: string): Screen {
  return SCREENS.find((screen) => screen === path) ?? "/";
}

class Place {
  screen: Screen = $state(screenOf(typeof location === "undefined" ? "/" : location.pathname));
}

/** Where this tablet is. */
export const place = new Place();

/** Goes to another screen without leaving the page: the link stays up. */
export function go(screen: Screen): void {
  if (place.screen === screen) return;
  history.pushState(null, "", screen + location.search);
  place.screen = screen;
}

if (typeof window !== "undefined") {
  addEventListener("popstate", () => {
    place.screen = screenOf(location.pathname);
  });
}
