// The light that this phone's page is drawn for; kept on the phone, and chosen by hand: at sea a phone that
// is dark by habit cannot be read.

/** One of the themes of `shared/theme.css`. */
export type Light = "sun" | "dusk" | "night";

const KEY = "dunlin-phone-light";

function isLight(word: string | null): word is Light {
  return word === "sun" || word === "dusk" || word === "night";
}

/** The light chosen before on this phone; sunlight at first, and where nothing can be kept. */
export function keptLight(): Light {
  try {
    const kept = localStorage.getItem(KEY);
    return isLight(kept) ? kept : "sun";
  } catch {
    return "sun";
  }
}

/** Keeps the choice; where nothing can be kept it lasts as long as the page. */
export function keepLight(light: Light): void {
  try {
    localStorage.setItem(KEY, light);
  } catch {
    // The page is drawn in it all the same.
  }
}
