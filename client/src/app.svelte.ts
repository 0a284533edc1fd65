// The one place where the link, the state and the tablet's own choices meet.
import { type AskedList, answered, asking, dismissed, hasRoom, linkLost } from "./actions.ts";
import { ServerClock, steadyNow } from "./clock.ts";
import { LINK_LOST_MS } from "./limits.ts";
import { afterPaint } from "./paint.ts";
import { settings } from "./settings.svelte.ts";
import { ask } from "./shared/api.ts";
import { type Link, type LinkState, linkState } from "./socket.ts";
import { apply, type State } from "./store.ts";
import type { View } from "./views/context.ts";
import type { Action } from "./wire/Action.ts";
import type { Me } from "./wire/Me.ts";
import type { ToTablet } from "./wire/ToTablet.ts";

/** The version of the protocol that this page was built for. */
const WIRE_VERSION = 1;

/** What is shown at once even while an alert waits for its paint. */
const URGENT: readonly ToTablet["kind"][] = ["alert", "outcome", "snapshot"];

/** How the watch stands for this tablet. */
export interface Watching {
  readonly link: LinkState;
  /** Silence of the server in milliseconds; `null`: it never spoke. */
  readonly silentMs: number | null;
  /** Server time when it was last heard; `null`: never. */
  readonly heardAt: number | null;
}

/** Ages are told in whole seconds. A little less than one, since beats come half a second apart, or later. */
const PANELS_EVERY_MS = 900;

class App {
  /** What the panels show: as of the newest message that is news, or a second old. */
  state: State | null = $state.raw(null);
  /** The newest state there is, for the chart, where every report of a position counts. */
  live: State | null = $state.raw(null);
  /** An alert has come that is not painted yet: whatever else there is to draw waits for that. */
  urgent: boolean = $state(false);
  asked: AskedList = $state.raw([]);
  /** Server time, renewed once a second and with every message that is news. */
  now: number = $state(0);
  watching: Watching = $state.raw({ link: "lost", silentMs: null, heardAt: null });
  /** The server does not know this tablet. */
  stranger: boolean = $state(false);
  /** What the server said of this tablet when it was asked; `null`: it was not. */
  me: Me | null = $state.raw(null);
  /** The server speaks a newer protocol. */
  outdated: boolean = $state(false);
  /** Why something could not even be sent. */
  notSent: string | null = $state(null);

  /** Every message is in here at once, whenever it is shown. */
  #shownAt = Number.NEGATIVE_INFINITY;
  #newest: State | null = null;
  #link: Link | null = null;
  #clock = new ServerClock();
  #request = 0;
  #hearers: ((message: ToTablet, before: State | null) => void)[] = [];

  /** Everything views are made of; `null` before the first snapshot. */
  get view(): View | null {
    return this.state === null ? null : this.#viewOf(this.state, this.now);
  }

  /** The same of this very moment. */
  get liveView(): View | null {
    return this.live === null ? null : this.#viewOf(this.live, this.#clock.at(steadyNow()) ?? 0);
  }

  #viewOf(state: State, now: number): View {
    const { t, choices } = settings;
    return { state, now, own: this.ownBoat, t, units: choices.units };
  }

  /** The safety boat that carries this tablet. With a single one and nothing chosen, that one. */
  get ownBoat(): number | null {
    const safety = this.state?.setup.boats.filter((boat) => boat.role === "safety") ?? [];
    const chosen = settings.choices.ownBoat;
    if (chosen === undefined) return safety.length === 1 ? (safety[0]?.ix ?? null) : null;
    return safety.find((boat) => boat.id === chosen)?.ix ?? null;
  }

  /** Whether this tablet may act at all. */
  get mayAct(): boolean {
    return this.state !== null && this.state.you.role !== "viewer";
  }

  /** Called when an alert has just been painted: it is to be heard as soon as it can be seen. */
  onPainted: (() => void) | null = null;

  /** Told of every message after it was applied. */
  onMessage(hearer: (message: ToTablet, before: State | null) => void): void {
    this.#hearers.push(hearer);
  }

  /** Asks the server whether it knows this tablet; called when it let us in no further. */
  async whoAmI(): Promise<void> {
    const answer = await ask<Me>("GET", "/api/me");
    if (!("ok" in answer)) return; // Out of reach: that is the link's business.
    this.me = answer.ok;
    this.stranger = answer.ok.you === null;
  }

  use(link: Link): void {
    this.#link = link;
    link.start();
  }

  /** Twice a second: the link is looked at, and once a second time goes on whether anything is heard or not. */
  beat(): void {
    this.#link?.look();
    const steady = steadyNow();
    const heard = this.#link?.heardMs ?? null;
    const silentMs = heard === null ? null : steady - heard;
    const link = linkState(silentMs);
    const isDue = steady - this.#shownAt >= PANELS_EVERY_MS || link !== this.watching.link;
    if (!this.urgent && isDue) this.#show();
    this.watching = { link, silentMs, heardAt: heard === null ? null : this.#clock.at(heard) };
  }

  hear(message: ToTablet): void {
    const before = this.#newest;
    if (message.kind === "snapshot" || message.kind === "tick") this.#clock.hear(message.now_ms, steadyNow());
    if (message.kind === "snapshot") {
      this.outdated = message.version !== WIRE_VERSION;
      this.stranger = false;
    }
    if (message.kind === "outcome") this.asked = answered(this.asked, message);
    this.#newest = apply(this.#newest, message);
    if (this.watching.silentMs === null || this.watching.silentMs > LINK_LOST_MS / 2) this.beat();
    if (message.kind === "alert") this.#hurry();
    // While a card waits for its paint, only what belongs to it may go with it.
    const isNews = this.urgent ? URGENT.includes(message.kind) : message.kind !== "tick";
    // A card that changes its place is news; that a boat has sailed on can wait for the beat.
    if (isNews || (!this.urgent && !sameOrder(this.state, this.#newest))) this.#show();
    else if (!this.urgent) this.live = this.#newest;
    for (const hearer of this.#hearers) hearer(message, before);
  }

  #show(): void {
    this.#shownAt = steadyNow();
    this.state = this.#newest;
    this.now = this.#clock.at(steadyNow()) ?? 0;
    if (!this.urgent) this.live = this.#newest;
  }

  /** From here until the alert's card is on the glass, nothing else is drawn. */
  #hurry(): void {
    if (this.urgent) return;
    this.urgent = true;
    afterPaint(() => {
      this.urgent = false;
      this.#show();
      this.onPainted?.();
    });
  }

  dropped(): void {
    this.asked = linkLost(this.asked);
    this.beat();
  }

  /** Asks the server for an action. Without a link it is refused here, in words, and nothing waits. */
  ask(action: Action): void {
    const { t } = settings;
    this.notSent = null;
    if (!this.mayAct) this.notSent = t.act.viewer;
    else if (!hasRoom(this.asked)) this.notSent = t.act.tooMany;
    else {
      this.#request += 1;
      const sent =
        this.watching.link !== "lost" && this.#link?.send({ request: this.#request, action }) === true;
      if (sent) this.asked = asking(this.asked, this.#request, action, steadyNow());
      else this.notSent = t.act.offline;
    }
  }

  dismiss(request: number): void {
    this.asked = dismissed(this.asked, request);
  }

  retry(): void {
    this.#link?.hurry();
  }
}

/** Whether the same alerts stand in the same order of need. */
function sameOrder(a: State | null, b: State | null): boolean {
  if (a === null || b === null) return a === b;
  return (
    a.needs.length === b.needs.length && a.needs.every(({ alert }, index) => alert === b.needs[index]?.alert)
  );
}

/** The application. */
export const app = new App();
