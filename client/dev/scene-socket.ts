// A socket that plays the invented scene, for looking at the screens without a server.
import type { SocketLike } from "../src/socket.ts";
import type { AlertState } from "../src/wire/AlertState.ts";
import type { FromTablet } from "../src/wire/FromTablet.ts";
import type { ToTablet } from "../src/wire/ToTablet.ts";
import { ALERTS, START_MS, snapshotAt, tickAt } from "./scene.ts";

const TICK_MS = 200;

/** Sockets opened since the page was. */
let opened = 0;

/** Opens the scene. `?scene=calm` has no alerts, `?scene=silent` stops after two seconds. */
export function sceneSocket(): SocketLike {
  const kind = new URLSearchParams(location.search).get("scene");
  opened += 1;
  const dead = kind === "silent" && opened > 1;
  const begun = performance.now();
  const seconds = () => (performance.now() - begun) / 1000;
  const alerts = new Map<number, AlertState>(kind === "calm" ? [] : ALERTS.map((alert) => [alert.id, alert]));
  const socket: SocketLike = { onopen: null, onmessage: null, onclose: null, send, close };
  const say = (message: ToTablet) => socket.onmessage?.({ data: JSON.stringify(message) });
  const needs = () => snapshotAt(0).tick.needs.filter((need) => alerts.get(need.alert)?.cleared === null);
  const change = (id: number, some: Partial<AlertState>) => {
    const before = alerts.get(id);
    if (before === undefined) return;
    const after = { ...before, ...some, changed_ms: START_MS + seconds() * 1000 };
    alerts.set(id, after);
    say({ kind: "alert", ...after });
  };
  const timer = setInterval(() => {
    if (kind === "silent" && (dead || seconds() > 2)) return;
    say({ kind: "tick", ...tickAt(seconds()), needs: needs() });
  }, TICK_MS);
  setTimeout(() => {
    if (dead) return;
    socket.onopen?.();
    const first = snapshotAt(seconds());
    const day = kind === "calm" ? { tally: { ...first.tally, unaccounted: 0 } } : {};
    say({
      kind: "snapshot",
      ...first,
      ...day,
      alerts: [...alerts.values()],
      tick: { ...first.tick, needs: needs() },
    });
  }, 20);

  function close(): void {
    clearInterval(timer);
  }

  function send(text: string): void {
    const { request, action } = JSON.parse(text) as FromTablet;
    const said = { by: "Niels", at_ms: START_MS + seconds() * 1000 };
    setTimeout(() => {
      if (action.kind === "acknowledge") change(action.alert, { acknowledged: said });
      if (action.kind === "silence")
        change(action.alert, { silenced: { by: "Niels", at_ms: said.at_ms + 30_000 } });
      if (action.kind === "attend") {
        change(action.alert, { attended: action.boat === null ? null : { boat: action.boat, ...said } });
      }
      if (action.kind === "heads") change(action.alert, { heads: action.counted });
      if (action.kind === "clear")
        change(action.alert, { cleared: { at_ms: said.at_ms, reason: action.reason } });
      if (action.kind === "note") {
        say({ kind: "log", ...said, boat: action.boat, alert: null, text: action.text });
      }
      if (action.kind === "signal") {
        const signal =
          action.signal === null
            ? null
            : { ...said, signal: action.signal, words: "", seen: [2, 3], reachable: [2, 3, 4] };
        say({ kind: "signal", signal });
      }
      say({ kind: "outcome", request, refused: null, undo: action.kind === "undo" ? null : request });
    }, 150);
  }
  return socket;
}
