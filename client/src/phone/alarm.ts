// The phone's own noise for a signal to everyone afloat: rising pairs and a long shake.

let context: AudioContext | null = null;

/** Must be called from a press: browsers give sound only then. */
export function allowSound(): void {
  context ??= new AudioContext();
  void context.resume();
}

/** Whether a signal would be heard from this phone, as far as the browser tells: not how loud it is set. */
export function canSound(): boolean {
  return context?.state === "running";
}

/** Whether this phone can shake. Some cannot, and some are set not to without saying so. */
export function canShake(): boolean {
  return "vibrate" in navigator;
}

/** Sounds once; to be repeated until somebody has seen the signal. */
export function sound(): void {
  navigator.vibrate?.([400, 150, 400, 150, 800]);
  if (context === null || context.state !== "running") return;
  const start = context.currentTime;
  for (const [at, hz] of [
    [0, 620],
    [0.22, 930],
    [0.6, 620],
    [0.82, 930],
  ] as const) {
    const tone = context.createOscillator();
    const gain = context.createGain();
    tone.type = "square";
    tone.frequency.value = hz;
    gain.gain.setValueAtTime(0.0001, start + at);
    gain.gain.exponentialRampToValueAtTime(0.35, start + at + 0.02);
    gain.gain.exponentialRampToValueAtTime(0.0001, start + at + 0.2);
    tone.connect(gain).connect(context.destination);
    tone.start(start + at);
    tone.stop(start + at + 0.21);
  }
}
