// The real program with a fleet that does only what a test tells it: every boat sails straight on,
// reported by NMEA over TCP once a second, so that no alert comes that no test asked for.
import { connect, type Socket } from "node:net";
import { freePort, type Program, startServer } from "./program.ts";

/** A running one. */
export interface ScriptedFleet extends Program {
  /** The key of a person who may do everything, as a browser's cookie. */
  readonly cookie: { readonly name: string; readonly value: string; readonly url: string };
}

/** Wind from the south-west; half the dinghies reach to the north-west, half to the south-east. */
const WIND_FROM_DEG = 225;
const WIND_KN = 11;
const REACH_KN = 3.6;
const DINGHIES = ["01", "02", "03", "04", "05", "06", "07", "08", "09", "10", "11", "12"] as const;
const SAFETY = ["S1", "S2"] as const;
/** The middle of a piece of open sea, degrees. */
const MIDDLE = [3.2, 54.1] as const;
const M_PER_DEG = 111_320;
const MPS_PER_KN = 1852 / 3600;
/** So long has each boat been sailing when a test begins to look. */
const SETTLE_MS = 8_000;

const NAMES = ["Ada", "Ben", "Cleo", "Dirk", "Elif", "Finn", "Gus", "Hana", "Ivo", "Jun", "Kai", "Lena"];

/** Starts it, and lets it sail for a few seconds. */
export async function startScriptedFleet(): Promise<ScriptedFleet> {
  const port = await freePort();
  const program = await startServer({
    "dunlin.toml": (pages) =>
      `centre = "Test Water"\nsite = "site.geojson"\nfleet = "fleet.toml"\ndata = "data"\nlisten = "127.0.0.1:${pages}"\n` +
      `[[feed]]\nname = "boats"\nkind = "tcp-listen"\nlisten = "127.0.0.1:${port}"\n`,
    "site.geojson": () => SITE,
    "fleet.toml": () => fleetFile(),
  });
  const began = Date.now();
  const socket = await dial(port);
  const report = () => socket.write(linesAt(Date.now(), (Date.now() - began) / 1000));
  report();
  const timer = setInterval(report, 1000);
  const cookie = await join(program.base, program.code);
  await new Promise((done) => setTimeout(done, SETTLE_MS));
  return {
    base: program.base,
    cookie,
    kill: async () => {
      clearInterval(timer);
      socket.destroy();
      await program.kill();
    },
  };
}

async function dial(port: number): Promise<Socket> {
  for (let tries = 0; ; tries += 1) {
    const socket = connect(port, "127.0.0.1");
    const failed = await new Promise<Error | null>((done) => {
      socket.once("connect", () => done(null));
      socket.once("error", done);
    });
    // A program that is killed resets the connection, which is no news to a test.
    socket.on("error", () => undefined);
    if (failed === null) return socket;
    if (tries > 50) throw failed;
    await new Promise((done) => setTimeout(done, 100));
  }
}

/** Joins as the first duty officer by the program's code. */
export async function join(base: string, code: string): Promise<ScriptedFleet["cookie"]> {
  const answer = await fetch(`${base}/api/join`, {
    method: "POST",
    headers: { "content-type": "application/json", origin: base },
    body: JSON.stringify({ name: "Robin", code }),
  });
  const [name, value] = (answer.headers.get("set-cookie") ?? "").split(";")[0]?.split("=") ?? [];
  if (!answer.ok || name === undefined || value === undefined)
    throw new Error(`nobody could join: ${answer.status} ${await answer.text()}`);
  return { name, value, url: base };
}

function boatEntry(id: string, role: string, crew: number): string {
  const kind = role === "dinghy" ? 'class = "trainer"\n' : "";
  return `[[boat]]\nid = "${id}"\nrole = "${role}"\ncrew = ${crew}\nsource = "t-${id}"\n${kind}`;
}

function fleetFile(): string {
  const trainer =
    "[class.trainer]\nwaterline_m = 3.9\ncrew = 2\nbeating_kn = 2.9\nreaching_kn = 3.8\nrunning_kn = 3.2\n";
  return [
    trainer,
    ...DINGHIES.map((id) => boatEntry(id, "dinghy", 2)),
    ...SAFETY.map((id) => boatEntry(id, "safety", 2)),
    boatEntry("mast", "station", 0),
  ].join("\n");
}

/** Six kilometres square: nobody reaches its edge while a test lasts. */
const SITE = JSON.stringify({
  type: "FeatureCollection",
  features: [
    {
      type: "Feature",
      properties: { kind: "sailing-area", name: "Test Water" },
      geometry: { type: "Polygon", coordinates: [square(3_000)] },
    },
  ],
});

function square(half: number): [number, number][] {
  const corners = [
    [-half, -half],
    [half, -half],
    [half, half],
    [-half, half],
    [-half, -half],
  ] as const;
  return corners.map(([east, north]) => place(east, north));
}

function place(eastM: number, northM: number): [number, number] {
  const lon = MIDDLE[0] + eastM / (M_PER_DEG * Math.cos((MIDDLE[1] * Math.PI) / 180));
  return [lon, MIDDLE[1] + northM / M_PER_DEG];
}

/** All that is heard in one second, `s` seconds after the start. */
function linesAt(nowMs: number, s: number): string {
  const lines = DINGHIES.map((id, index) => {
    const course = index % 2 === 0 ? 315 : 135;
    // Nobody steers a ruler's line.
    const yaw = 3 * Math.sin(s / 5 + index);
    return tagged(id, nowMs, sailed(index, course, yaw, s, nowMs));
  });
  for (const [index, id] of SAFETY.entries()) {
    lines.push(tagged(id, nowMs, rmc(nowMs, place(-120 + 260 * index + s * 0.5, -60), 1, 90)));
  }
  const wind = `WIMWD,${WIND_FROM_DEG.toFixed(1)},T,,M,${WIND_KN.toFixed(1)},N,${(WIND_KN * MPS_PER_KN).toFixed(1)},M`;
  lines.push(tagged("mast", nowMs, rmc(nowMs, place(0, 420), 0, 0)), tagged("mast", nowMs, sentence(wind)));
  return lines.join("");
}

function sailed(index: number, course: number, yaw: number, s: number, nowMs: number): string {
  const way = REACH_KN * MPS_PER_KN * s;
  const angle = (course * Math.PI) / 180;
  const start = [-280 + (index % 4) * 170, -200 + Math.floor(index / 4) * 190] as const;
  const at = place(start[0] + Math.sin(angle) * way, start[1] + Math.cos(angle) * way);
  return rmc(nowMs, at, REACH_KN, (course + yaw + 360) % 360);
}

/** NMEA 0183 RMC: time, position, speed in knots, course in degrees true. */
function rmc(nowMs: number, [lon, lat]: [number, number], kn: number, course: number): string {
  const now = new Date(nowMs).toISOString();
  const time = `${now.slice(11, 13)}${now.slice(14, 16)}${now.slice(17, 23)}`;
  const date = `${now.slice(8, 10)}${now.slice(5, 7)}${now.slice(2, 4)}`;
  return sentence(
    `GPRMC,${time},A,${minutes(lat, 2)},N,${minutes(lon, 3)},E,${kn.toFixed(1)},${course.toFixed(1)},${date},,,A`,
  );
}

function minutes(degrees: number, wide: number): string {
  const whole = Math.floor(degrees);
  const rest = ((degrees - whole) * 60).toFixed(5).padStart(8, "0");
  return String(whole).padStart(wide, "0") + rest;
}

function sentence(body: string): string {
  return `$${body}*${sum(body)}`;
}

/** A line that says which boat speaks, in a TAG block. */
function tagged(id: string, nowMs: number, line: string): string {
  const tag = `s:t-${id},c:${nowMs}`;
  return `\\${tag}*${sum(tag)}\\${line}\r\n`;
}

function sum(text: string): string {
  let xor = 0;
  for (let i = 0; i < text.length; i += 1) xor ^= text.charCodeAt(i);
  return xor.toString(16).toUpperCase().padStart(2, "0");
}

/** A list of people for the fleet, as it is pasted: two in each dinghy. */
export const CREW_LIST = [
  ...NAMES.flatMap((name, index) => {
    const id = DINGHIES[Math.floor(index / 2)] ?? "01";
    return [`${name};learner;${id}`];
  }),
  "Mara;staff;S1",
  "Robin;staff;S2",
].join("\n");
