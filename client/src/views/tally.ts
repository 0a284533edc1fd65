// The head count, for the strip and for the people ashore.
import type { View } from "./context.ts";

/** The strip at the top: how many are out, and whether all of them are accounted for. */
export interface TallyStrip {
  readonly out: string;
  readonly accounted: string;
  readonly alarm: boolean;
}

/** Straight from the server's count; the tablet counts nobody by itself. */
export function tallyStrip({ state, t }: View): TallyStrip {
  const { boats_out, persons_out, unaccounted } = state.tally;
  const nobody = boats_out === 0 && persons_out === 0;
  return {
    out: nobody ? t.tally.nobodyOut : `${t.tally.boats(boats_out)}, ${t.tally.persons(persons_out)}`,
    accounted: unaccounted > 0 ? t.tally.unaccounted(unaccounted) : nobody ? "" : t.tally.allKnown,
    alarm: unaccounted > 0,
  };
}
