// The shelf on the phone itself: IndexedDB, one database a boat.
import { memoryShelf, type Shelf } from "./queue.ts";
import type { PhoneFix } from "./wire.ts";

const FIXES = "fixes";
const FACTS = "facts";

/** A name for a boat's database that does not show her key. */
export async function shelfName(key: string): Promise<string> {
  const bytes = new TextEncoder().encode(key);
  if (!globalThis.crypto?.subtle) return `dunlin-boat-${bytes.length}`;
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return `dunlin-boat-${Array.from(hash.slice(0, 6), (byte) => byte.toString(16).padStart(2, "0")).join("")}`;
}

/** A name that this phone makes up for a run of numbers. */
export function newRun(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(8));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Opens the shelf, or one in memory where the browser keeps nothing. */
export async function openShelf(name: string): Promise<{ shelf: Shelf; keeps: boolean }> {
  try {
    const db = await asked(openDatabase(name));
    return { shelf: databaseShelf(db), keeps: true };
  } catch {
    return { shelf: memoryShelf(newRun()), keeps: false };
  }
}

function openDatabase(name: string): IDBOpenDBRequest {
  const request = indexedDB.open(name, 1);
  request.onupgradeneeded = () => {
    request.result.createObjectStore(FIXES, { keyPath: "seq" });
    request.result.createObjectStore(FACTS);
  };
  return request;
}

function databaseShelf(db: IDBDatabase): Shelf {
  return {
    async load() {
      const facts = db.transaction(FACTS, "readwrite").objectStore(FACTS);
      let run: unknown = await asked(facts.get("run"));
      if (typeof run !== "string") {
        run = newRun();
        await asked(facts.put(run, "run"));
      }
      const last: unknown = await asked(db.transaction(FACTS).objectStore(FACTS).get("last"));
      const fixes: PhoneFix[] = await asked(db.transaction(FIXES).objectStore(FIXES).getAll());
      const newest = fixes.at(-1)?.seq ?? 0;
      return { run: String(run), last: Math.max(typeof last === "number" ? last : 0, newest), fixes };
    },
    async put(fix) {
      const both = db.transaction([FIXES, FACTS], "readwrite");
      both.objectStore(FACTS).put(fix.seq, "last");
      await asked(both.objectStore(FIXES).put(fix));
    },
    async dropTo(seq) {
      const fixes = db.transaction(FIXES, "readwrite").objectStore(FIXES);
      await asked(fixes.delete(IDBKeyRange.upperBound(seq)));
    },
  };
}

function asked<T>(request: IDBRequest<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error ?? new Error("the phone keeps nothing"));
  });
}
