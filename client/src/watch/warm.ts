// The first alert of a day must not be the slowest: its card is drawn once, out of sight, while nobody
// needs help, so that the browser has its code and its styles ready.
import { mount, unmount } from "svelte";
import { afterPaint } from "../paint.ts";
import type { NeedCard as Card } from "../views/needs.ts";
import NeedCard from "./NeedCard.svelte";

/** The browser is busy with the first picture for about this long, milliseconds. */
const WAIT_MS = 1_500;

/** A card with every part that a first alert has. */
const SAMPLE: Card = {
  alert: -1,
  boat: 0,
  isPerson: false,
  id: "00",
  level: "alarm",
  what: "–",
  since: "–",
  persons: "–",
  names: "–",
  why: "",
  evidence: ["–", "–"],
  likely: "–",
  way: { from: "–", bearing: "000°", hour: 12, distance: "0 m", time: "0 s" },
  positionNote: "–",
  going: "nobody",
  goingWords: "–",
  acknowledgedBy: null,
  silenced: false,
  headsMissing: 0,
  recorded: true,
};

/** Draws it once, where neither eyes nor a screen reader find it. Gives the way to call it off. */
export function warmCard(): () => void {
  const timer = setTimeout(() => {
    const target = document.createElement("div");
    target.inert = true;
    target.style.cssText = "position:fixed;inset:0 auto auto 0;width:360px;visibility:hidden;contain:strict";
    document.body.append(target);
    const props = { card: SAMPLE, first: true, going: () => undefined, clearing: () => undefined };
    const card = mount(NeedCard, { target, props });
    afterPaint(() => {
      void unmount(card);
      target.remove();
    });
  }, WAIT_MS);
  return () => clearTimeout(timer);
}
