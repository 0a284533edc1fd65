// When the browser has painted. What somebody must see at once goes first, and all else follows.

/** A page that is hidden paints nothing; what waits for a paint then waits this long, milliseconds. */
const HIDDEN_MS = 250;

/** Runs `run` once, as soon as what the page holds now has been painted. Gives the way to call it off. */
export function afterPaint(run: () => void): () => void {
  const { port1, port2 } = new MessageChannel();
  let over = false;
  const stop = () => {
    over = true;
    clearTimeout(timer);
    cancelAnimationFrame(frame);
    port1.close();
  };
  const go = () => {
    if (over) return;
    stop();
    run();
  };
  port1.onmessage = go;
  const timer = setTimeout(go, HIDDEN_MS);
  // The frame's own callbacks run before it is painted; a message sent from there arrives after.
  const frame = requestAnimationFrame(() => port2.postMessage(null));
  return stop;
}
