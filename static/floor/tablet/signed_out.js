/* On the page for signing in: a sign-in that is over ends at the server too, and what waits here is
   told. */

import { openStore } from "../store/line_store.js";
import { endNoted } from "./ended.js";
import { showLinesHere } from "./lines_here.js";

const store = await openStore();
await showLinesHere(store);
await endNoted(store, location.pathname);
