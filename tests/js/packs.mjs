/* node tests/js/packs.mjs <file>: a file of [{before, lines, after}]; see test_packs.py. */

import { readFileSync } from "node:fs";

import * as reading from "../../static/floor/rules/reading.js";
import { checkPacks } from "./checks.mjs";

const wrong = JSON.parse(readFileSync(process.argv[2], "utf8")).flatMap((pack) => checkPacks(reading, pack));
for (const sentence of wrong) console.log(sentence);
process.exitCode = wrong.length ? 1 : 0;
