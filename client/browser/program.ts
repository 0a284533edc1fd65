// The real program with its demonstration, on a port of its own.
import { type ChildProcess, spawn } from "node:child_process";
import { existsSync, mkdtempSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";

const BINARY = process.env.DUNLIN_BIN ?? join(import.meta.dirname, "../../target/debug/dunlin");
const READY_WITHIN_MS = 60_000;

/** A running demonstration. */
export interface Program {
  readonly base: string;
  /** Kills it at once, as a power cut would. */
  kill(): Promise<void>;
}

/** Starts the demonstration, its time running `speed` times as fast as ours. */
export async function startDemo(speed: number, port?: number): Promise<Program> {
  if (!existsSync(BINARY)) throw new Error(`${BINARY} is not there: run \`cargo build -p dunlin\` first`);
  const chosen = port ?? (await freePort());
  const child = spawn(BINARY, ["demo", "--port", String(chosen), "--speed", String(speed)], {
    stdio: "ignore",
  });
  const base = `http://localhost:${chosen}`;
  await ready(base, child);
  return {
    base,
    kill: () => end(child),
  };
}

/** A running server that nobody has joined yet. */
export interface Fresh extends Program {
  /** Makes the first duty officer. */
  readonly code: string;
}

/** Starts the program as somebody does who has set nothing up: no site, no fleet, an empty folder. */
export function startFresh(): Promise<Fresh> {
  return startServer({
    "dunlin.toml": (port) => `centre = "Test Water"\ndata = "data"\nlisten = "127.0.0.1:${port}"\n`,
  });
}

/** Starts the program on set-up files in a folder of its own; each is made for the port of the pages. */
export async function startServer(files: Readonly<Record<string, (port: number) => string>>): Promise<Fresh> {
  const port = await freePort();
  const folder = mkdtempSync(join(tmpdir(), "dunlin-"));
  for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, name), text(port));
  const config = join(folder, "dunlin.toml");
  const child = spawn(BINARY, ["serve", "--config", config], { stdio: ["ignore", "pipe", "pipe"] });
  let said = "";
  child.stdout.on("data", (bytes: Buffer) => {
    said += bytes.toString();
  });
  child.stderr.on("data", (bytes: Buffer) => {
    said += bytes.toString();
  });
  const base = `http://localhost:${port}`;
  await ready(base, child);
  const code = await codeIn(() => said);
  return { base, code, kill: () => end(child) };
}

/** The code in what the program says, which may come a moment after its first answer. */
async function codeIn(said: () => string): Promise<string> {
  for (let tries = 0; tries < 100; tries += 1) {
    const code = /code (\w+)/.exec(said())?.[1];
    if (code !== undefined) return code;
    await new Promise((done) => setTimeout(done, 100));
  }
  throw new Error(`no code in what the program said:\n${said()}`);
}

function end(child: ChildProcess): Promise<void> {
  return new Promise((done) => {
    child.once("exit", () => done());
    child.kill("SIGKILL");
  });
}

async function ready(base: string, child: ChildProcess): Promise<void> {
  const until = performance.now() + READY_WITHIN_MS;
  while (performance.now() < until) {
    if (child.exitCode !== null)
      throw new Error(`the program ended with ${child.exitCode} before it was ready`);
    try {
      if ((await fetch(`${base}/api/me`)).ok) return;
    } catch {
      // It is not listening yet.
    }
    await new Promise((done) => setTimeout(done, 100));
  }
  throw new Error(`the program was not ready within ${READY_WITHIN_MS} ms`);
}

/** A port that nobody uses. */
export function freePort(): Promise<number> {
  return new Promise((done, fail) => {
    const server = createServer();
    server.once("error", fail);
    server.listen(0, "127.0.0.1", () => {
      const address = server.address();
      const port = typeof address === "object" && address !== null ? address.port : 0;
      server.close(() => done(port));
    });
  });
}
