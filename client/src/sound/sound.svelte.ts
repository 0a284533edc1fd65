// The sound of this tablet: tones, speech and vibration, and whether it would be heard at all.
import { clockText, steadyNow, wallNow } from "../clock.ts";
import { settings } from "../settings.svelte.ts";
import type { State } from "../store.ts";
import { type Level, levelOf } from "../views/levels.ts";
import { isDue, loudest, type Sounded } from "./due.ts";
import { burstLong, HARMONICS, PATTERNS, type Pattern } from "./patterns.ts";

/** Speech is repeated with every n-th burst: the tones must be heard between the words. */
const SPEAK_EVERY = 4;

class Sound {
  /** Whether an alert would be heard now: the browser has let the sound out. */
  ready: boolean = $state(false);
  /** The level that is sounding; `null`: quiet. */
  level: Level | null = $state(null);
  /** The alert that is sounding; `null`: none, or the lost link. */
  about: number | null = $state(null);
  /** Bursts since the page was opened. */
  bursts: number = $state(0);
  /** Until when the sound of a lost link is off, on the steady clock. */
  linkQuietUntil: number = $state(0);
  #context: AudioContext | null = null;
  #out: GainNode | null = null;
  #wave: PeriodicWave | null = null;
  #last: Sounded | null = null;
  #spoken = 0;

  /** Lets the sound out; browsers allow it only within a touch or a key press. */
  async unlock(): Promise<void> {
    this.#context ??= this.#build();
    if (this.#context.state !== "running") await this.#context.resume().catch(() => undefined);
    this.#see();
  }

  #build(): AudioContext {
    const context = new AudioContext({ latencyHint: "interactive" });
    const out = context.createGain();
    // A limiter makes the bursts as loud as the speaker can, without tearing.
    const limiter = context.createDynamicsCompressor();
    out.connect(limiter).connect(context.destination);
    this.#out = out;
    this.#wave = context.createPeriodicWave(
      new Float32Array([0, ...HARMONICS]),
      new Float32Array(HARMONICS.length + 1),
    );
    context.onstatechange = () => this.#see();
    return context;
  }

  #see(): void {
    this.ready = this.#context?.state === "running";
  }

  /** Twice a second: sounds what is due. `speak` makes the words for an alert. */
  beat(state: State | null, now: number, linkLost: boolean, speak: (alert: number | null) => string): void {
    const steady = steadyNow();
    const alert = state === null ? null : loudest(state.alerts.values(), now);
    const lost = linkLost && state !== null && steady >= this.linkQuietUntil;
    const level: Level | null = lost ? "warning" : alert === null || linkLost ? null : levelOf(alert);
    this.level = level;
    this.about = lost || level === null ? null : (alert?.id ?? null);
    if (level === null) {
      if (alert === null && !linkLost) this.#last = null;
      return;
    }
    const about = lost ? null : (alert?.id ?? null);
    if (!isDue(level, about, this.#last, steady)) return;
    const isNew = this.#last === null || this.#last.alert !== about;
    this.#last = { level, atMs: steady, alert: about };
    this.#spoken = isNew ? 0 : this.#spoken + 1;
    this.play(PATTERNS[level]);
    if (level !== "caution" && this.#spoken % SPEAK_EVERY === 0)
      this.say(() => speak(about), PATTERNS[level]);
  }

  /** One burst. */
  play(pattern: Pattern): void {
    this.bursts += 1;
    if (settings.choices.vibrate && this.ready && "vibrate" in navigator)
      navigator.vibrate([...pattern.vibrate]);
    const context = this.#context;
    if (context === null || this.#out === null || this.#wave === null || context.state !== "running") return;
    const begin = context.currentTime + 0.03;
    for (const { atS, longS, hz } of pattern.burst) {
      const tone = context.createOscillator();
      const swell = context.createGain();
      tone.setPeriodicWave(this.#wave);
      tone.frequency.value = hz;
      const start = begin + atS;
      // Short ramps: a click at the edge would make all patterns alike.
      swell.gain.setValueAtTime(0, start);
      swell.gain.linearRampToValueAtTime(0.9, start + 0.015);
      swell.gain.setValueAtTime(0.9, start + longS - 0.02);
      swell.gain.linearRampToValueAtTime(0, start + longS);
      tone.connect(swell).connect(this.#out);
      tone.start(start);
      tone.stop(start + longS + 0.05);
    }
  }

  /** Speaks after the burst, so that neither covers the other, in the words that are true by then. */
  say(words: () => string, after: Pattern): void {
    if (!settings.choices.speech || !("speechSynthesis" in globalThis)) return;
    setTimeout(() => {
      const said = words();
      if (said === "") return;
      const speech = new SpeechSynthesisUtterance(said);
      speech.lang = settings.choices.language;
      speech.rate = 0.95;
      speechSynthesis.cancel();
      speechSynthesis.speak(speech);
    }, burstLong(after) * 1000);
  }

  /** Whether the tablet can speak the chosen language. */
  hasVoice(): boolean {
    if (!("speechSynthesis" in globalThis)) return false;
    return speechSynthesis.getVoices().some((voice) => voice.lang.startsWith(settings.choices.language));
  }

  /** The alarm's burst and a sentence that says that it is a test. */
  test(): void {
    this.play(PATTERNS.alarm);
    this.say(() => settings.t.sound.testSpeech, PATTERNS.alarm);
  }

  /** Something that is no alert but is meant for this boat: said once. */
  tell(words: string): void {
    this.play(PATTERNS.warning);
    this.say(() => words, PATTERNS.warning);
  }

  /** Somebody has heard the test. */
  heard(): void {
    settings.set({ heardAt: wallNow() });
  }

  /** When the volume was last checked, in words. */
  get checkedWords(): string {
    const { t, choices } = settings;
    return choices.heardAt === null ? t.sound.notChecked : t.sound.checkedAt(clockText(choices.heardAt));
  }
}

/** This tablet's sound. */
export const sound = new Sound();
