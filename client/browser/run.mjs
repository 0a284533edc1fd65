// Runs one of the TypeScript programs here: `node browser/run.mjs NAME [ARGS]`.
import { resolve } from "node:path";
import { runnerImport } from "vite";

const [, , name, ...rest] = process.argv;
process.argv.splice(2, process.argv.length, ...rest);
await runnerImport(resolve(import.meta.dirname, `${name}.ts`));
