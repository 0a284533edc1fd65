// Starts the tablet's pages.
import { mount } from "svelte";
import App from "./App.svelte";
import { app } from "./app.svelte.ts";
import { steadyNow } from "./clock.ts";
import { liveUrl } from "./routes.ts";
import { Link, type SocketLike } from "./socket.ts";
import "./shared/theme.css";

async function openSocket(): Promise<() => SocketLike> {
  if (import.meta.env.DEV && new URLSearchParams(location.search).has("scene")) {
    const { sceneSocket } = await import("../dev/scene-socket.ts");
    return sceneSocket;
  }
  const tablet = tabletName();
  return () => new WebSocket(liveUrl(location, tablet)) as SocketLike;
}

/** Request numbers begin at 1 with each page, so the name does too. */
function tabletName(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

async function start(): Promise<void> {
  const target = document.getElementById("app");
  if (target === null) return;
  const open = await openSocket();
  const after = (ms: number, run: () => void) => {
    const timer = setTimeout(run, ms);
    return () => clearTimeout(timer);
  };
  const link = new Link(
    { open, steadyNow, after },
    {
      message: (message) => app.hear(message),
      dropped: () => app.dropped(),
      refused: () => void app.whoAmI(),
    },
  );
  app.use(link);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") app.retry();
  });
  mount(App, { target });
  if ("serviceWorker" in navigator && import.meta.env.PROD) {
    // Without it the pages still work; only a start out of reach of the server does not.
    navigator.serviceWorker.register("/sw.js").catch(() => undefined);
  }
}

void start();
