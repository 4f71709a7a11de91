/* What this tablet keeps on disk, in five stores:
   lines (id): what the server has not acknowledged, or has refused:
     {id, meeting, author, at, draft, line, signed, answer, code}
   sent (id): what it has acknowledged: {id, meeting, author, line, signed, log, acked}, acked in ms
   keys (author): what signs a person's lines: {author, id, key, open}
   packs (meeting): a class as it was fetched: {meeting, author, day, at, pack}
   facts (name): what the tablet knows about itself, and what makes a class again (packs.js).
   Names of children are in packs alone; lines carry ids and codes.

   What this page has read or written is in its memory as well. A browser may close the database
   under a living page, or empty it: then it is opened once more and what is missing is written
   again; if that fails, the page goes on from its memory and tries again whenever it reads. */

import { ENTRY, ORIGIN, originOf } from "./packs.js";

const NAME = "floor";
const VERSION = 3;
const STORES = { lines: "id", facts: "name", sent: "id", packs: "meeting", keys: "author" };

/* "blocked" is called when another page holds the old stores open and has to be closed first;
   the store opens as soon as it is. */
export async function openStore(blocked) {
  const store = new LineStore();
  try {
    // A newer page has changed the stores: take them as they are.
    await store.open(blocked).catch(() => store.open(null, null));
    store.durable = true;
  } catch {
    // The browser stores nothing (private window, full disk).
  }
  return store;
}

/* Version 1 had lines and facts only, version 2 no keys; their content stays. Version null: open the database in
   whatever version it has. */
function openDatabase(version, blocked) {
  return new Promise((resolve, reject) => {
    const request = version === null ? indexedDB.open(NAME) : indexedDB.open(NAME, version);
    request.onupgradeneeded = () => {
      const existing = request.result.objectStoreNames;
      for (const [name, keyPath] of Object.entries(STORES)) {
        if (!existing.contains(name)) request.result.createObjectStore(name, { keyPath });
      }
    };
    request.onblocked = () => blocked?.();
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

class LineStore {
  // False once a write has failed: what waits is then in the memory of this page alone.
  durable = false;
  // The database, promised.
  #opened = null;
  #memory = Object.fromEntries(Object.keys(STORES).map((name) => [name, new Map()]));
  // The ids of lines whose last write has not succeeded, or not yet.
  #unwritten = new Set();

  open(blocked, version = VERSION) {
    this.#opened = openDatabase(version, blocked).then((database) => {
      // A newer page wants to change the stores, or another one to delete them; or the browser
      // closed the database. Open it again as it is then, and write what is missing.
      const reopen = () => {
        database.close();
        this.open(null, null)
          .then(() => this.all())
          .catch(() => {});
      };
      database.onversionchange = reopen;
      database.onclose = reopen;
      return database;
    });
    return this.#opened;
  }

  /* Resolves when the records are on the disk, not merely handed over; or, if the disk will
     not take them, when they are in memory and "durable" is false. */
  put(records) {
    const ids = records.map(({ id }) => id);
    return this.#changeLines(ids, ["lines"], ({ lines }) => {
      for (const record of records) lines.put(record);
    });
  }

  /* The ids of the lines that a reload would lose. */
  onlyInMemory() {
    return this.durable ? [] : [...this.#unwritten].filter((id) => this.#memory.lines.has(id));
  }

  remove(ids) {
    return this.#change(["lines"], ({ lines }) => {
      for (const id of ids) lines.delete(id);
    });
  }

  /* Every record, other tabs' too, in the order of the ids, which is the order of the taps. One
     that waits and is missing on the disk is gone only if another tab has put it among the sent
     ones; else it was lost there, and is written again. */
  async all() {
    await this.#recover();
    const { lines } = this.#memory;
    // Lines that come in while the disk is read are not missing there.
    const known = [...lines.keys()];
    const stored = await this.#read("lines", (store) => store.getAll());
    if (!stored) return inOrder(lines, STORES.lines);
    const ids = new Set(stored.map(({ id }) => id));
    for (const record of stored) if (!this.#unwritten.has(record.id)) lines.set(record.id, record);
    const gone = (id) => lines.has(id) && !ids.has(id) && !this.#unwritten.has(id);
    const missing = known.filter(gone).map((id) => lines.get(id));
    for (const { id, answer } of missing) if (answer !== null) lines.delete(id);
    await this.#writeAgain(missing.map(({ id }) => id));
    return inOrder(lines, STORES.lines);
  }

  async #recover() {
    if (this.durable) return;
    try {
      await this.open(null, null);
    } catch {
      return;
    }
    this.durable = true;
    await this.#writeAgain([...this.#unwritten]);
  }

  async #writeAgain(ids) {
    if (ids.length === 0) return;
    const { lines: known } = this.#memory;
    const written = await this.#write(["lines", "sent"], ({ lines, sent }) => {
      for (const id of ids) {
        sent.get(id, (found) => {
          if (found) known.delete(id);
          else if (known.has(id)) lines.put(known.get(id));
        });
      }
    });
    this.#note(ids, written);
  }

  /* The server has these lines: move them from "lines" to "sent" in one transaction. "log" is
     the name of the server's log in its answer. */
  acknowledge(records, log, acked = Date.now()) {
    return this.#change(["lines", "sent"], ({ lines, sent }) => {
      for (const { id, meeting, author, line, signed } of records) {
        lines.delete(id);
        sent.put({ id, meeting, author, line, signed, log, acked });
      }
    });
  }

  /* What was acknowledged under another log than this one, in the order of the taps. */
  async sentUnderOtherLogs(log) {
    return (await this.#all("sent")).filter((record) => record.log !== log);
  }

  /* Move them back from "sent" to "lines" in one transaction. Unknown ids are ignored. */
  requeue(ids) {
    return this.#change(["lines", "sent"], ({ lines, sent }) => {
      for (const id of ids) {
        sent.get(id, (found) => {
          if (!found) return;
          const { meeting, author, line, signed } = found;
          const at = Date.parse(line.at);
          lines.put({ id, meeting, author, at, draft: false, line, signed, answer: null, code: null });
          sent.delete(id);
        });
      }
    });
  }

  /* Forget lines that were acknowledged before then, in ms, what was kept of their classes, and
     entries that nobody went on with. */
  deleteSentBefore(before) {
    return this.#change(["sent", "lines", "facts"], ({ sent, lines, facts }) => {
      sent.all((records) => {
        for (const { id, acked } of records) if (acked < before) sent.delete(id);
      });
      lines.all((waiting) => {
        const needed = new Set(waiting.map(({ meeting }) => originOf(meeting)));
        facts.all((known) => {
          for (const { name, value } of known) {
            const old = [ORIGIN, ENTRY].some((prefix) => name.startsWith(prefix)) && value.at < before;
            if (old && !needed.has(name)) facts.delete(name);
          }
        });
      });
    });
  }

  putPack(record) {
    return this.#change(["packs"], ({ packs }) => packs.put(record));
  }

  pack(meeting) {
    return this.#one("packs", meeting);
  }

  packs() {
    return this.#all("packs");
  }

  /* Delete all packs except those for which "keep" is true. */
  deletePacksExcept(keep) {
    return this.#change(["packs"], ({ packs }) => {
      packs.all((records) => {
        for (const record of records) if (!keep(record)) packs.delete(record.meeting);
      });
    });
  }

  /* To those lines that are still here, by their ids. */
  attachSignatures(signatures) {
    return this.#changeLines([...signatures.keys()], ["lines"], ({ lines }) => {
      for (const [id, signed] of signatures) {
        lines.get(id, (found) => {
          if (found) lines.put({ ...found, signed });
        });
      }
    });
  }

  putKey(record) {
    return this.#change(["keys"], ({ keys }) => keys.put(record));
  }

  key(author) {
    return this.#one("keys", author);
  }

  deleteKeysExcept(author) {
    return this.#change(["keys"], ({ keys }) => {
      keys.all((records) => {
        for (const record of records) if (record.author !== author) keys.delete(record.author);
      });
    });
  }

  setFact(name, value) {
    return this.#change(["facts"], ({ facts }) => facts.put({ name, value }));
  }

  deleteFacts(names) {
    return this.#change(["facts"], ({ facts }) => {
      for (const name of names) facts.delete(name);
    });
  }

  /* [{name, value}, ...] */
  async factsNamed(prefix) {
    return (await this.#all("facts")).filter(({ name }) => name.startsWith(prefix));
  }

  async fact(name) {
    return (await this.#one("facts", name))?.value;
  }

  async #changeLines(ids, names, change) {
    this.#note(ids, false);
    this.#note(ids, await this.#change(names, change));
  }

  #note(ids, written) {
    for (const id of ids) {
      if (written) this.#unwritten.delete(id);
      else this.#unwritten.add(id);
    }
  }

  /* The same change in memory and, in one transaction, on the disk. True if it is on the disk. */
  #change(names, change) {
    change(Object.fromEntries(names.map((name) => [name, inMemory(this.#memory[name], STORES[name])])));
    return this.#write(names, change);
  }

  async #write(names, change) {
    const done = await this.#withDatabase(
      (database) =>
        new Promise((resolve, reject) => {
          const transaction = database.transaction(names, "readwrite", { durability: "strict" });
          transaction.oncomplete = () => resolve(true);
          transaction.onerror = () => reject(transaction.error);
          transaction.onabort = () => reject(transaction.error);
          change(Object.fromEntries(names.map((name) => [name, onDisk(transaction.objectStore(name))])));
        }),
    );
    return done?.result === true;
  }

  async #all(name) {
    const stored = await this.#read(name, (store) => store.getAll());
    return stored ?? inOrder(this.#memory[name], STORES[name]);
  }

  async #one(name, key) {
    const stored = await this.#read(name, (store) => store.get(key));
    return this.durable ? stored : this.#memory[name].get(key);
  }

  /* Undefined if the disk does not answer. */
  async #read(name, ask) {
    const done = await this.#withDatabase(
      (database) =>
        new Promise((resolve, reject) => {
          const request = ask(database.transaction(name, "readonly").objectStore(name));
          request.onsuccess = () => resolve(request.result);
          request.onerror = () => reject(request.error);
        }),
    );
    return done?.result;
  }

  /* {result} of this work, done once more with a new connection if it fails; or null, and from then
     on nothing is durable. */
  async #withDatabase(work) {
    for (const reopened of [false, true]) {
      if (!this.durable) return null;
      try {
        if (reopened) await this.open(null, null);
        return { result: await work(await this.#opened) };
      } catch {
        this.durable = !reopened;
      }
    }
    return null;
  }
}

function onDisk(store) {
  const answer = (request, use) => (request.onsuccess = () => use(request.result));
  return {
    put: (record) => store.put(record),
    delete: (key) => store.delete(key),
    get: (key, use) => answer(store.get(key), use),
    all: (use) => answer(store.getAll(), use),
  };
}

function inMemory(map, key) {
  return {
    put: (record) => map.set(record[key], record),
    delete: (id) => map.delete(id),
    get: (id, use) => use(map.get(id)),
    all: (use) => use(inOrder(map, key)),
  };
}

function inOrder(map, key) {
  return [...map.values()].sort((one, other) => (one[key] < other[key] ? -1 : 1));
}
