// The real program with its demonstration, on a port of its own.
import { type ChildProcess, spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { createServer } from "node:net";
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
    kill: () =>
      new Promise((done) => {
        child.once("exit", () => done());
        child.kill("SIGKILL");
      }),
  };
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

function freePort(): Promise<number> {
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
