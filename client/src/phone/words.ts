// Every word of the phone page, in both languages. Apart from the tablet's, so that it loads small.

import type { Light } from "./light.ts";

/** The words of one language. */
export interface Words {
  boat: string;
  noKey: string;
  wrongKey: string;
  replaced: string;
  oldPage: string;
  join: string;
  joinWhat: string;
  aid: string;
  heard: string;
  notHeard: (s: string) => string;
  looking: string;
  waiting: (n: number) => string;
  lost: (n: number) => string;
  notKept: string;
  noPlace: string;
  placeDenied: string;
  placeGood: (m: number) => string;
  placePoor: (m: number) => string;
  notSecure: string;
  needHelp: string;
  hold: string;
  calling: string;
  callWaits: string;
  callRaised: string;
  callSeen: string;
  callComing: string;
  alsoShout: string;
  fine: string;
  fineAsk: string;
  seen: string;
  seenSaid: string;
  allIn: string;
  stop: string;
  move: string;
  fixed: string;
  fixedHint: string;
  fixedNow: (deg: string) => string;
  loose: string;
  noMotion: string;
  limits: string;
  limitsList: string[];
  screenOn: string;
  screenMayLock: string;
  battery: (pct: number) => string;
  soundOn: string;
  shakesOnly: string;
  noSound: string;
  light: string;
  lights: Record<Light, string>;
}

const en: Words = {
  boat: "Boat",
  noKey: "This page needs your boat's own code. Scan the code on your boat again.",
  wrongKey: "This code is not valid any more. Ask on the beach for a new one.",
  replaced: "Another phone now speaks for this boat. Close this page, or join again.",
  oldPage: "This page is older than the server. Close it and scan the code again.",
  join: "Start",
  joinWhat: "The safety boats will see where your boat is until you close this page.",
  aid: "This page helps people look after you. It does not call the rescue service.",
  heard: "You are being heard",
  notHeard: (s) => `Not heard for ${s}`,
  looking: "Not heard. Looking for the server",
  waiting: (n) => `${n} positions wait to be sent`,
  lost: (n) => `${n} old positions had to be dropped`,
  notKept: "This browser keeps nothing: positions are lost if you close the page.",
  noPlace: "No position yet. Give the phone a view of the sky.",
  placeDenied: "Location is switched off for this page. Allow it in the phone's settings.",
  placeGood: (m) => `Position good to ${m} m`,
  placePoor: (m) => `Position poor: ${m} m`,
  notSecure: "The phone gives its location only to secure pages. Ask on the beach.",
  needHelp: "We need help",
  hold: "Press and hold",
  calling: "Keep holding",
  callWaits: "Your call waits: not heard",
  callRaised: "Your call has arrived",
  callSeen: "They have seen your call",
  callComing: "A safety boat is coming",
  alsoShout: "Stay with the boat. Shout, whistle and wave as well.",
  fine: "We are fine",
  fineAsk: "Press again to take your call back",
  seen: "Seen",
  seenSaid: "They know that you have seen it",
  allIn: "Everyone in",
  stop: "Stop where you are",
  move: "Move",
  fixed: "Boat is upright now",
  fixedHint: "Phone fixed to the boat, its top towards the bow? Then heel helps the watch.",
  fixedNow: (deg) => `Heel ${deg}`,
  loose: "Phone is not fixed",
  noMotion: "This phone does not tell how it lies.",
  limits: "What a phone in a pouch cannot do",
  limitsList: [
    "Under water it is silent and hears nothing.",
    "With the screen locked, many phones stop sending.",
    "Wet fingers and gloves may not be felt.",
    "Its position can be wrong by many metres.",
    "Its battery does not last all day.",
  ],
  screenOn: "Screen stays on",
  screenMayLock: "Keep the screen on yourself: this phone may lock it",
  battery: (pct) => `Battery ${pct} %`,
  soundOn: "A signal sounds and shakes this phone. Turn its volume up.",
  shakesOnly: "A signal shakes this phone but does not sound: touch the page",
  noSound: "A signal is silent on this phone: touch the page, and look at it often",
  light: "Light",
  lights: { sun: "Sunlight", dusk: "Dusk", night: "Night" },
};

const nl: Words = {
  boat: "Boot",
  noKey: "Deze pagina heeft de eigen code van je boot nodig. Scan de code op je boot opnieuw.",
  wrongKey: "Deze code geldt niet meer. Vraag op het strand een nieuwe.",
  replaced: "Een andere telefoon spreekt nu voor deze boot. Sluit deze pagina, of begin opnieuw.",
  oldPage: "Deze pagina is ouder dan de server. Sluit haar en scan de code opnieuw.",
  join: "Begin",
  joinWhat: "De veiligheidsboten zien waar je boot is, tot je deze pagina sluit.",
  aid: "Deze pagina helpt anderen op je te letten. Ze belt de reddingsdienst niet.",
  heard: "Je wordt gehoord",
  notHeard: (s) => `Al ${s} niet gehoord`,
  looking: "Niet gehoord. Zoekt de server",
  waiting: (n) => `${n} posities wachten op verzending`,
  lost: (n) => `${n} oude posities zijn vervallen`,
  notKept: "Deze browser bewaart niets: bij sluiten gaan posities verloren.",
  noPlace: "Nog geen positie. Geef de telefoon zicht op de lucht.",
  placeDenied: "Locatie staat uit voor deze pagina. Sta haar toe in de instellingen.",
  placeGood: (m) => `Positie goed tot op ${m} m`,
  placePoor: (m) => `Positie slecht: ${m} m`,
  notSecure: "De telefoon geeft zijn plaats alleen aan veilige pagina's. Vraag op het strand.",
  needHelp: "Wij hebben hulp nodig",
  hold: "Druk en houd vast",
  calling: "Blijf vasthouden",
  callWaits: "Je oproep wacht: niet gehoord",
  callRaised: "Je oproep is aangekomen",
  callSeen: "Ze hebben je oproep gezien",
  callComing: "Er komt een veiligheidsboot",
  alsoShout: "Blijf bij de boot. Roep, fluit en zwaai ook.",
  fine: "Alles goed",
  fineAsk: "Druk nog eens om je oproep in te trekken",
  seen: "Gezien",
  seenSaid: "Ze weten dat je het hebt gezien",
  allIn: "Iedereen naar binnen",
  stop: "Stop waar je bent",
  move: "Verplaatsen",
  fixed: "Boot ligt nu recht",
  fixedHint: "Telefoon vast aan de boot, bovenkant naar de boeg? Dan helpt de helling de wacht.",
  fixedNow: (deg) => `Helling ${deg}`,
  loose: "Telefoon zit niet vast",
  noMotion: "Deze telefoon zegt niet hoe hij ligt.",
  limits: "Wat een telefoon in een hoes niet kan",
  limitsList: [
    "Onder water is hij stil en hoort hij niets.",
    "Met vergrendeld scherm stoppen veel telefoons met zenden.",
    "Natte vingers en handschoenen voelt hij soms niet.",
    "Zijn positie kan vele meters fout zijn.",
    "Zijn batterij haalt geen hele dag.",
  ],
  screenOn: "Scherm blijft aan",
  screenMayLock: "Houd zelf het scherm aan: deze telefoon kan vergrendelen",
  battery: (pct) => `Batterij ${pct} %`,
  soundOn: "Een sein klinkt en trilt op deze telefoon. Zet het volume hoog.",
  shakesOnly: "Een sein trilt op deze telefoon maar klinkt niet: raak de pagina aan",
  noSound: "Een sein is stil op deze telefoon: raak de pagina aan en kijk er vaak op",
  light: "Licht",
  lights: { sun: "Zonlicht", dusk: "Schemer", night: "Nacht" },
};

/** The words for a browser's language. */
export function wordsFor(language: string): Words {
  return language.toLowerCase().startsWith("nl") ? nl : en;
}
