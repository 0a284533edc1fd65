// Questions to the server besides the live socket. Every failure comes back as words.

/** What came of a question. */
export type Answer<T> = { readonly ok: T } | { readonly wrong: string; readonly status: number };

/** How long a question may take. */
const TIMEOUT_MS = 15_000;

/** Asks with a JSON body, or none. */
export async function ask<T>(
  method: "GET" | "POST" | "PUT" | "DELETE",
  path: string,
  body?: unknown,
): Promise<Answer<T>> {
  const json = body !== undefined;
  return send<T>(path, {
    method,
    ...(json ? { body: JSON.stringify(body), headers: { "content-type": "application/json" } } : {}),
  });
}

/** Sends a file's text as it is; `note` says where it came from. */
export async function put<T>(path: string, text: string, type: string, note: string): Promise<Answer<T>> {
  return send<T>(path, { method: "PUT", body: text, headers: { "content-type": type, "x-note": note } });
}

async function send<T>(path: string, init: RequestInit): Promise<Answer<T>> {
  try {
    const response = await fetch(path, {
      ...init,
      credentials: "same-origin",
      cache: "no-store",
      signal: AbortSignal.timeout(TIMEOUT_MS),
    });
    const text = await response.text();
    if (!response.ok)
      return { wrong: text.slice(0, 400) || String(response.status), status: response.status };
    const isJson = response.headers.get("content-type")?.includes("json") === true;
    // What a route answers is the server's own, typed, word.
    return { ok: (isJson ? JSON.parse(text) : text) as T };
  } catch (error) {
    return { wrong: error instanceof Error ? error.message : String(error), status: 0 };
  }
}
