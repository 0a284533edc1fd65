// Starts the page of a phone on board.
import { mount } from "svelte";
import "../shared/theme.css";
import Phone from "./Phone.svelte";
import { wordsFor } from "./words.ts";

const KEPT = "dunlin-boat-key";

/** The boat's key out of the address, after which it no longer shows there; else the one kept. */
function takeKey(): string | null {
  const fresh = new URLSearchParams(location.hash.slice(1)).get("key");
  if (fresh !== null && fresh !== "") {
    localStorage.setItem(KEPT, fresh);
    history.replaceState(null, "", location.pathname);
    return fresh;
  }
  return localStorage.getItem(KEPT);
}

const target = document.getElementById("app");
const words = wordsFor(navigator.language);
document.documentElement.lang = words.boat === "Boot" ? "nl" : "en";
if (target !== null) mount(Phone, { target, props: { key: takeKey(), words } });
if ("serviceWorker" in navigator && import.meta.env.PROD) {
  navigator.serviceWorker.register("/sw.js").catch(() => undefined);
}
