// The server's sentences in Dutch; see `said.ts` for the holes.
import { en } from "./en.ts";
import { nl } from "./nl.ts";
import type { SaidTable } from "./said.ts";
import { refusedNl, refusedWordsNl } from "./said-nl-refused.ts";

/** The log writes the wire's names with blanks, in the middle of a sentence. */
function byLog(words: Readonly<Record<string, string>>): Record<string, string> {
  const entries = Object.entries(words).map(([key, word]) => {
    return [key.replaceAll("-", " "), word.slice(0, 1).toLowerCase() + word.slice(1)] as const;
  });
  return Object.fromEntries(entries);
}

/** What an English tablet sent by a button, word for word. */
function byButton(english: readonly string[], words: readonly string[]): (readonly [string, string])[] {
  return english.map((line, index) => [line, words[index] ?? line]);
}

/** Dutch. */
export const saidNl: SaidTable = {
  sentences: [
    // Why a capsize is believed.
    ["heel {n} deg", "helling {n}°"],
    ["heel {n} deg for {t}", "{t} lang helling {n}°"],
    ["no position for {t}", "{t} geen positie"],
    ["no position yet: where she is, is not known", "nog geen positie: waar zij is, is onbekend"],
    [
      "not yet counted as out, but moved from where she lay",
      "telt nog niet als op het water, maar is van haar plek weg",
    ],
    ["no position for {t}, though her feed still speaks", "{t} geen positie, al meldt haar toestel zich wel"],
    ["{n} kn to {n2} kn in {n3} s", "van {n} naar {n2} kn in {n3} s"],
    ["lying still for {n} s", "ligt {n} s stil"],
    ["drifting {n} at {n2} kn for {n3} s", "drijft {n3} s met {n2} kn naar {n}°"],
    ["drifting {n} at {n2} kn {w} for {n3} s", "drijft {n3} s {w} met {n2} kn naar {n}°"],
    ["no fix for {n} s since", "daarna {n} s geen positie"],
    ["just after a gybe", "net na een gijp"],
    ["in a gust", "in een vlaag"],
    ["wind unknown", "wind onbekend"],
    ["{w} or {w2}, not told apart", "{w} of {w2}, niet te onderscheiden"],
    ["{w} or {w2}, not told apart, silent for {n} s", "{w} of {w2}, niet te onderscheiden, {n} s stil"],
    ["{w}, silent for {n} s", "{w}, {n} s stil"],
    // What was said by a beacon, a crew or a person.
    ["{w} {n} is sending", "{w} {n} zendt"],
    ['it says "{x}"', 'meldt "{x}"'],
    ["it says that it is being tested", "meldt dat het een test is"],
    ["the test signal has stopped", "het testsignaal is gestopt"],
    ["her crew held the help button", "de bemanning hield de hulpknop vast"],
    ["her crew says they are fine", "de bemanning zegt dat alles goed is"],
    ["{x} says: {w}", "{x} zegt: {w}"],
    ["seen and well", "gezien en in orde"],
    ["taken back", "teruggenomen"],
    ["not afloat", "niet te water"],
    // Areas.
    ["will leave the sailing area in about {n} s", "verlaat over ongeveer {n} s het vaargebied"],
    ["will enter {x} in about {n} s", "vaart over ongeveer {n} s {x} in"],
    ["drifting {n} kn towards {n2}", "drijft met {n} kn naar {n2}°"],
    ["sailing {n} kn towards {n2}", "zeilt met {n} kn naar {n2}°"],
    ["she has crossed the edge", "zij is de rand over"],
    ["she has entered it", "zij is erin"],
    ["her way leads clear of it", "haar koers gaat erlangs"],
    ["{n} m outside the sailing area's {w} edge for {t}", "{t} buiten de {w}rand van het vaargebied, {n} m"],
    ["at the sailing area's {w} edge or over it for {t}", "{t} op of over de {w}rand van het vaargebied"],
    ["{n} m inside {x} for {t}", "{t} in {x}, {n} m diep"],
    ["at the edge of {x} or in it for {t}", "{t} op de rand van of in {x}"],
    ["making {n} kn towards {n2}", "gaat met {n} kn naar {n2}°"],
    ["hardly moving", "ligt bijna stil"],
    ["her position is good to about {n} m", "haar positie klopt op ongeveer {n} m"],
    ["{n} m back inside the sailing area", "{n} m terug in het vaargebied"],
    ["{n} m clear of {x}", "{n} m buiten {x}"],
    ["on her way out from the landing place", "op weg van de aanlegplaats"],
    // Contact.
    ["not heard for {t}", "{t} niets gehoord"],
    ["usually heard every {n} s", "anders elke {n} s gehoord"],
    ["last seen {s}", "laatst gezien: {s}"],
    ["heard again", "weer gehoord"],
    ["her tracker has sent one and the same position for {t}", "haar tracker zendt al {t} dezelfde positie"],
    ["where she really is, is not known", "waar zij echt is, is niet bekend"],
    ["her position changes again", "haar positie verandert weer"],
    ["two places {n} m apart both report as her", "twee plaatsen, {n} m uit elkaar, melden zich als haar"],
    ["one place reports as her again", "nog één plaats meldt zich als haar"],
    // Wind and time.
    ["mean wind {n} kn, limit {n2} kn, for {t}", "gemiddelde wind al {t} {n} kn, grens {n2} kn"],
    ["gusts of {n} kn in the last ten minutes", "vlagen van {n} kn in de laatste tien minuten"],
    ["the wind is within the limit again", "de wind is weer onder de grens"],
    ["no limit is set", "er is geen grens ingesteld"],
    [
      "{x} says a wind {n} degrees {w} of the courses of {n2} boats, {y}",
      "{x} geeft een wind {n}° {w} van de koersen van {n2} boten, {y}",
    ],
    [
      "{x} says a wind {n} degrees {w} of the courses of {n2} boats",
      "{x} geeft een wind {n}° {w} van de koersen van {n2} boten",
    ],
    [
      "{x} says a wind {n} degrees {w} of the wind set by hand",
      "{x} geeft een wind {n}° {w} van de met de hand ingevoerde wind",
    ],
    ["{x} says a wind {n} degrees {w} of {y}", "{x} geeft een wind {n}° {w} van {y}"],
    ["instrument and fleet agree again", "instrument en vloot zijn het weer eens"],
    ["expected back {t} ago", "werd {t} geleden terug verwacht"],
    ["not overdue", "niet over tijd"],
    ["landed, but her people are not counted", "geland, maar haar mensen zijn niet geteld"],
    [
      "not counted back, and in no boat that is out",
      "niet als terug geteld, en in geen boot die op het water is",
    ],
    ["counted back", "als terug geteld"],
    ["in a boat that is out", "in een boot die op het water is"],
    ["expected back later", "later terug verwacht"],
    ["no longer on the list", "niet meer op de lijst"],
    ["set by hand", "met de hand ingevoerd"],
    ["{n} boat and {n2} turns", "{n} boot en {n2} wendingen"],
    ["{n} boats and {n2} turns", "{n} boten en {n2} wendingen"],
    ["{n} instruments", "{n} instrumenten"],
    ["{x} and {n} boats and {n2} turns", "{x} en {n} boten en {n2} wendingen"],
    // dunlin itself.
    [
      "dunlin was not running from {x} to {y} UTC: nobody was watched. Count heads.",
      "dunlin liep niet van {x} tot {y} UTC: niemand werd bewaakt. Tel koppen.",
    ],
    [
      "The day of {x} stays open: nobody has counted back {y}, and {n} alert stands. Count them, then mark each boat ashore by hand. End each once all is well.",
      "De dag van {x} blijft open: niemand heeft {y} als terug geteld, en er staat {n} alarm. Tel de mensen en meld elke boot met de hand aan de wal. Beëindig het alarm als alles goed is.",
    ],
    [
      "The day of {x} stays open: nobody has counted back {y}, and {n} alerts stand. Count them, then mark each boat ashore by hand. End each once all is well.",
      "De dag van {x} blijft open: niemand heeft {y} als terug geteld, en er staan {n} alarmen. Tel de mensen en meld elke boot met de hand aan de wal. Beëindig elk alarm als alles goed is.",
    ],
    [
      "The day of {x} stays open: nobody has counted back {y}. Count them, then mark each boat ashore by hand.",
      "De dag van {x} blijft open: niemand heeft {y} als terug geteld. Tel de mensen en meld elke boot met de hand aan de wal.",
    ],
    [
      "The day of {x} stays open: {n} alert stands. End each once all is well.",
      "De dag van {x} blijft open: er staat {n} alarm. Beëindig het als alles goed is.",
    ],
    [
      "The day of {x} stays open: {n} alerts stand. End each once all is well.",
      "De dag van {x} blijft open: er staan {n} alarmen. Beëindig elk als alles goed is.",
    ],
    [
      'Feed "{x}" sends more than is taken: look for a device that floods or a doubled source.',
      "Bron „{x}” zendt meer dan wordt aangenomen: zoek een apparaat dat te veel zendt of een dubbele bron.",
    ],
    [
      "The computer's clock was set {w} by {n} s, or it slept. dunlin keeps its own time; restart it when everyone is ashore.",
      "De klok van de computer is {n} s {w} gezet, of hij sliep. dunlin houdt zijn eigen tijd; start het opnieuw als iedereen binnen is.",
    ],
    [
      "{x} is afloat with an open safety defect: {y}. Call her in, or have a duty officer override it.",
      "{x} is te water met een open veiligheidsgebrek: {y}. Roep haar binnen, of laat de leider van de dag het toestaan.",
    ],
    [
      "Two phones seem to use the key of {x} by turns. Make a new key for her and scan it once.",
      "Twee telefoons lijken om beurten de sleutel van {x} te gebruiken. Maak een nieuwe sleutel en scan die één keer.",
    ],
    [
      "The watch itself has stopped answering: nothing is being judged. Keep a look-out and restart dunlin.",
      "De wacht zelf antwoordt niet meer: niets wordt beoordeeld. Houd zelf uitkijk en start dunlin opnieuw.",
    ],
    ["Not recording. {y}", "Er wordt niets vastgelegd. {y}"],
    ["Not recording, {n} entries lost. {y}", "Er wordt niets vastgelegd, {n} regels verloren. {y}"],
    ['Feed "{x}": {y}.', "Bron „{x}”: {y}."],
    ...refusedNl,
    // Safety cover.
    ["{s}. Local rules decide.", "{s}. De regels ter plaatse beslissen."],
    ["no safety boat is afloat and heard", "er is geen veiligheidsboot te water en te horen"],
    [
      "{n} safety boat for {n2} dinghies; the centre's rule is 1 for {n3}",
      "{n} veiligheidsboot voor {n2} boten; de regel van het centrum is 1 op {n3}",
    ],
    [
      "{n} safety boats for {n2} dinghies; the centre's rule is 1 for {n3}",
      "{n} veiligheidsboten voor {n2} boten; de regel van het centrum is 1 op {n3}",
    ],
    ["{n} s to {x}; the centre's rule is {n2} s", "{n} s naar {x}; de regel van het centrum is {n2} s"],
    ["no position of {x}: cannot be judged", "geen positie van {x}: niet te beoordelen"],
    // The log.
    ["{x}: {w} over: {s}", "{x}: {w} voorbij: {s}"],
    ["{x}: {w} over: {y}", "{x}: {w} voorbij: {y}"],
    ["{x}: {w}, {w2}: {s}", "{x}: {w}, {w2}: {s}"],
    ["{x}: {w}, {w2}", "{x}: {w}, {w2}"],
    ["{x}: {w} is now {w2}", "{x}: {w} is nu {w2}"],
    ["{x}: {y} is going", "{x}: {y} gaat erheen"],
    ["{x}: nobody is going any more", "{x}: niemand gaat meer"],
    ["{x}: 1 head counted", "{x}: 1 kop geteld"],
    ["{x}: {n} heads counted", "{x}: {n} koppen geteld"],
    ["{x}: {n} head counted", "{x}: {n} kop geteld"],
    ["{x}: {w} acknowledged", "{x}: {w} gezien"],
    ["session: {y}", "sessie: {y}"],
    ["session closed, everyone counted back", "sessie gesloten, iedereen terug geteld"],
    [
      "session closed with people not counted back: {y}",
      "sessie gesloten terwijl niet iedereen terug geteld was: {y}",
    ],
    ["{x} is on the list", "{x} staat op de lijst"],
    ["a person was deleted", "een persoon is gewist"],
    ["{x} is in {y}", "{x} zit in {y}"],
    ["{x} is back, people counted", "{x} is terug, bemanning geteld"],
    ["{x} is {w}", "{x} is {w}"],
    ["{x}: reefed", "{x}: gereefd"],
    ["{x}: full sail", "{x}: vol tuig"],
    ["{x} may go out in spite of a safety defect: {y}", "{x} mag varen ondanks een veiligheidsgebrek: {y}"],
    ["{x}: safety defect: {y}", "{x}: veiligheidsgebrek: {y}"],
    ["{x}: defect: {y}", "{x}: gebrek: {y}"],
    ["{x}: mended: {y}", "{x}: hersteld: {y}"],
    ["signal to all: {w}", "sein aan allen: {w}"],
    ["signal to all: all in {y}", "sein aan allen: binnenkomen {y}"],
    ["signal to all: stop {y}", "sein aan allen: stop {y}"],
    ["signal to all: move {y}", "sein aan allen: verplaatsen {y}"],
    ["signal taken down", "sein ingetrokken"],
    ["{x}'s phone showed the signal", "de telefoon van {x} toonde het sein"],
    ["took back: {s}", "teruggenomen: {s}"],
    ...byButton(en.act.reasons, nl.act.reasons),
    ...byButton(en.rescue.quick, nl.rescue.quick),
    ["{w}", "{w}"],
  ],
  words: {
    h: "u",
    // What a boat is doing.
    sailing: "zeilt",
    manoeuvring: "manoeuvreert",
    "in irons": "in de wind blijven liggen",
    "hove-to": "ligt bij",
    waiting: "wacht",
    "picking up": "pikt iets op",
    "alongside a safety boat": "langszij een veiligheidsboot",
    "under tow": "wordt gesleept",
    "at the landing": "bij de aanlegplaats",
    aground: "aan de grond",
    moored: "gemeerd",
    becalmed: "zonder wind",
    "righted, bailing": "weer overeind, hoost",
    capsized: "omgeslagen",
    // Where to.
    "with the wind": "met de wind mee",
    "across the wind": "dwars op de wind",
    "against the wind": "tegen de wind in",
    north: "noord",
    "north-east": "noordoost",
    east: "oost",
    "south-east": "zuidoost",
    south: "zuid",
    "south-west": "zuidwest",
    west: "west",
    "north-west": "noordwest",
    clockwise: "rechtsom",
    anticlockwise: "linksom",
    forward: "vooruit",
    back: "terug",
    // Alerts and levels, as the log names them.
    ...byLog(nl.about),
    ...byLog(nl.levels),
    ...refusedWordsNl,
    // Beacons.
    "search and rescue transmitter": "opsporingsbaken",
    "person-overboard beacon": "persoon-overboordbaken",
    "distress beacon": "noodbaken",
    beacon: "baken",
    // Standings and signals.
    ...byLog(nl.standing),
    ...byLog(nl.slide.signals),
    viewer: "meekijker",
    instructor: "instructeur",
    "duty officer": "leider van de dag",
    "an action": "een handeling",
    "a note": "een notitie",
    "a signal": "een sein",
    "a change to the day's papers": "een wijziging in de papieren",
  },
};
