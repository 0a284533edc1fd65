// What fills the panel beside the chart, and what is chosen on it.

/** One thing at a time; `needs` is where every way back leads. */
export type Panel =
  | { readonly is: "needs" }
  | { readonly is: "boats" }
  | { readonly is: "boat"; readonly ix: number }
  | { readonly is: "rescue"; readonly alert: number }
  | { readonly is: "wind" }
  | { readonly is: "log" };

/** Where the chart looks. A drag of the hand makes it `free`. */
export type Follow = "all" | "us" | "need" | "free";

class Desk {
  panel: Panel = $state.raw({ is: "needs" });
  follow: Follow = $state("all");
  measuring: boolean = $state(false);
  dialog: "none" | "menu" | "cautions" | "sound" = $state("none");

  /** A rescue takes the chart with it: her and us; leaving it shows everyone again. */
  show(panel: Panel): void {
    if (panel.is === "rescue") this.follow = "need";
    else if (this.panel.is === "rescue" && this.follow === "need") this.follow = "all";
    this.panel = panel;
  }

  /** The boat that the screen is about now; `null`: none. */
  get chosen(): number | null {
    return this.panel.is === "boat" ? this.panel.ix : null;
  }
}

/** This tablet's desk. */
export const desk = new Desk();
