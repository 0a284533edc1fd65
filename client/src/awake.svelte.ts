// Keeps the screen on: a watch that goes dark is no watch.
class Awake {
  /** Whether the browser has promised to keep the screen on. */
  held: boolean = $state(false);
  #lock: WakeLockSentinel | null = null;

  /** Asks for it; browsers drop it whenever the page is hidden, so it is asked again each time. */
  async ask(): Promise<void> {
    if (!("wakeLock" in navigator) || document.visibilityState !== "visible" || this.held) return;
    try {
      this.#lock = await navigator.wakeLock.request("screen");
      this.held = true;
      this.#lock.addEventListener("release", () => {
        this.held = false;
      });
    } catch {
      this.held = false; // Refused, for example with a low battery; the menu says so.
    }
  }
}

/** This tablet's screen. */
export const awake = new Awake();
