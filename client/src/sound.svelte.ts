// The sound as the screens see it. The patterns are in sound/patterns.ts.
class Sound {
  /** Whether an alert would be heard now. */
  ready: boolean = $state(false);

  async unlock(): Promise<void> {
    this.ready = true;
  }
}

/** This tablet's sound. */
export const sound = new Sound();
