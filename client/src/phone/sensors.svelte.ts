// What the phone itself knows: where it is, how it lies, its battery, and whether its screen stays on.
import { steadyNow, wallNow } from "../clock.ts";
import { Level, type Pull } from "./heel.ts";
import type { PhoneFix } from "./wire.ts";

/** One position a second is enough; some phones give more. */
const FIX_EVERY_MS = 950;

/** Without a new position for so long, heel and battery are sent by themselves, ms: a phone with no view of
 * the sky, or one that tells only of moves, still feels the boat go over. */
const ASIDE_AFTER_MS = 1_900;

interface Battery extends EventTarget {
  level: number;
}

type Asking = { requestPermission?: () => Promise<"granted" | "denied"> };

/** The sensors, after somebody pressed "start". */
export class Sensors {
  place: "none" | "good" | "denied" | "insecure" = $state("none");
  accuracyM: number | null = $state(null);
  batteryPct: number | null = $state(null);
  screenKept: boolean = $state(false);
  heelDeg: number | null = $state(null);
  feelsMotion: boolean = $state(false);
  readonly #level = new Level();
  readonly #fix: (fix: Omit<PhoneFix, "seq">) => void;
  #fixAt = Number.NEGATIVE_INFINITY;

  constructor(fix: (fix: Omit<PhoneFix, "seq">) => void) {
    this.#fix = fix;
  }

  /** Asks for everything. Must be called from a press: browsers ask only then. */
  async start(): Promise<void> {
    this.#watchPlace();
    void this.#watchBattery();
    void this.#keepScreen();
    setInterval(() => this.#beat(), 1_000);
    await this.#watchMotion();
  }

  /** The boat is upright now and the phone is fixed to her. */
  setUpright(): void {
    this.#level.setUpright();
    this.heelDeg = this.#level.heelDeg();
  }

  /** The phone is loose: no heel is sent any more. */
  setLoose(): void {
    this.#level.forget();
    this.heelDeg = null;
  }

  #watchPlace(): void {
    if (!window.isSecureContext || !("geolocation" in navigator)) {
      this.place = "insecure";
      return;
    }
    navigator.geolocation.watchPosition(
      (found) => this.#placed(found),
      (error) => {
        this.place = error.code === error.PERMISSION_DENIED ? "denied" : "none";
      },
      { enableHighAccuracy: true, maximumAge: 0, timeout: 20_000 },
    );
  }

  #placed(found: GeolocationPosition): void {
    this.place = "good";
    this.accuracyM = found.coords.accuracy;
    if (steadyNow() - this.#fixAt < FIX_EVERY_MS) return;
    this.#fixAt = steadyNow();
    const { latitude, longitude, accuracy, speed, heading } = found.coords;
    this.#fix({
      t: Math.round(found.timestamp),
      lat: latitude,
      lon: longitude,
      acc: accuracy,
      ...(known(speed) ? { sog: speed } : {}),
      ...(known(heading) ? { cog: heading } : {}),
      ...this.#asides(),
    });
  }

  /** A fix without a position, for a button pressed before there is one. */
  sayHelp(help: boolean): void {
    this.#fix({ t: wallNow(), help, ...this.#asides() });
  }

  /** Says how the boat lies while there is no position to say it with. */
  #beat(): void {
    if (steadyNow() - this.#fixAt < ASIDE_AFTER_MS) return;
    const asides = this.#asides();
    if (asides.heel !== undefined) this.#fix({ t: wallNow(), ...asides });
  }

  #asides(): { heel?: number; bat?: number } {
    const heel = this.#level.heelDeg();
    return {
      ...(heel === null ? {} : { heel: Math.round(heel * 10) / 10 }),
      ...(this.batteryPct === null ? {} : { bat: this.batteryPct }),
    };
  }

  async #watchMotion(): Promise<void> {
    if (!("DeviceMotionEvent" in window)) return;
    const asking = DeviceMotionEvent as unknown as Asking;
    if (asking.requestPermission !== undefined) {
      const answer = await asking.requestPermission().catch(() => "denied");
      if (answer !== "granted") return;
    }
    window.addEventListener("devicemotion", (event) => {
      const felt = event.accelerationIncludingGravity;
      if (felt === null || !known(felt.x) || !known(felt.y) || !known(felt.z)) return;
      this.feelsMotion = true;
      this.#level.hear(felt as Pull, steadyNow());
      if (this.#level.isFixed) this.heelDeg = this.#level.heelDeg();
    });
  }

  async #watchBattery(): Promise<void> {
    const phone = navigator as Navigator & { getBattery?: () => Promise<Battery> };
    const battery = await phone.getBattery?.().catch(() => undefined);
    if (battery === undefined) return;
    const read = () => {
      this.batteryPct = Math.round(battery.level * 100);
    };
    read();
    battery.addEventListener("levelchange", read);
  }

  async #keepScreen(): Promise<void> {
    const keep = async () => {
      if (document.visibilityState !== "visible" || !("wakeLock" in navigator)) return;
      const lock = await navigator.wakeLock.request("screen").catch(() => null);
      this.screenKept = lock !== null;
      lock?.addEventListener("release", () => {
        this.screenKept = false;
      });
    };
    document.addEventListener("visibilitychange", () => void keep());
    await keep();
  }
}

function known(value: number | null | undefined): value is number {
  return typeof value === "number" && Number.isFinite(value);
}
