// A made-up server for measuring the pages alone: the built files, and a socket that is fed by hand.
import { createHash } from "node:crypto";
import { existsSync, readFileSync } from "node:fs";
import { createServer, type Server } from "node:http";
import { extname, join } from "node:path";
import type { Duplex } from "node:stream";
import type { ToTablet } from "../src/wire/ToTablet.ts";

const DIST = join(import.meta.dirname, "../dist");
/** RFC 6455, section 1.3. */
const GUID = "258EAFA5-E914-47DA-95CA-C5AB0DC85B11";
const TYPES: Record<string, string> = {
  ".html": "text/html",
  ".js": "text/javascript",
  ".css": "text/css",
  ".svg": "image/svg+xml",
  ".webmanifest": "application/manifest+json",
};

/** A running one. */
export interface FakeHub {
  readonly base: string;
  /** Says something to the tablet that is connected. */
  say(message: ToTablet): void;
  close(): void;
}

/** Starts it, with a page of nothing at `/empty` to compare with; `joined` is called for each tablet that connects. */
export function startFakeHub(joined: (hub: FakeHub) => void): Promise<FakeHub> {
  let tablet: Duplex | null = null;
  const server: Server = createServer((request, response) => {
    const path = new URL(request.url ?? "/", "http://localhost").pathname;
    if (path === "/empty") {
      response.writeHead(200, { "content-type": "text/html" });
      response.end("<!doctype html><title>empty</title><body></body>");
      return;
    }
    const file = join(DIST, path === "/" ? "index.html" : path);
    if (!file.startsWith(DIST) || !existsSync(file)) {
      response.writeHead(404).end();
      return;
    }
    response.writeHead(200, { "content-type": TYPES[extname(file)] ?? "application/octet-stream" });
    response.end(readFileSync(file));
  });
  return new Promise((done) => {
    server.listen(0, "127.0.0.1", () => {
      const address = server.address();
      const port = typeof address === "object" && address !== null ? address.port : 0;
      const hub: FakeHub = {
        base: `http://localhost:${port}`,
        say: (message) => tablet?.write(textFrame(JSON.stringify(message))),
        close: () => {
          tablet?.destroy();
          server.close();
        },
      };
      server.on("upgrade", (request, socket) => {
        const accept = createHash("sha1")
          .update(`${request.headers["sec-websocket-key"]}${GUID}`)
          .digest("base64");
        socket.write(
          `HTTP/1.1 101 Switching Protocols\r\nUpgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Accept: ${accept}\r\n\r\n`,
        );
        socket.on("error", () => socket.destroy());
        tablet = socket;
        joined(hub);
      });
      done(hub);
    });
  });
}

/** An unmasked text frame, RFC 6455 section 5.2. */
function textFrame(text: string): Buffer {
  const body = Buffer.from(text);
  const head = Buffer.alloc(body.length < 126 ? 2 : body.length < 65_536 ? 4 : 10);
  head[0] = 0x81;
  if (body.length < 126) head[1] = body.length;
  else if (body.length < 65_536) {
    head[1] = 126;
    head.writeUInt16BE(body.length, 2);
  } else {
    head[1] = 127;
    head.writeBigUInt64BE(BigInt(body.length), 2);
  }
  return Buffer.concat([head, body]);
}
