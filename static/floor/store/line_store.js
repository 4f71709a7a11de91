/* What this tablet keeps on disk, in five stores:
   lines (id): what the server has not acknowledged, or has refused:
     {id, meeting, author, at, draft, line, signed, answer, code}
   sent (id): what it has acknowledged: {id, meeting, author, line, signed, log, acked}, acked in ms
   keys (author): what signs a person's lines: {author, id, key, open}
   packs (meeting): a class as it was fetched: {meeting, author, day, at, pack}
   facts (name): what the tablet knows about itself, and what makes a class again (packs.js).
   Names of children are in packs alone; lines carry ids and codes. */

import { ORIGIN, originOf } from "./packs.js";

const NAME = "floor";
const VERSION = 3;
const STORES = { lines: "id", facts: "name", sent: "id", packs: "meeting", keys: "author" };

/* "blocked" is called when another page holds the old stores open and has to be closed first;
   the store opens as soon as it is. */
export async function openStore(blocked) {
  const store = new LineStore();
  try {
    await store.open(blocked);
    store.durable = true;
  } catch {
    // The browser stores nothing (private window, full disk): the page goes on in memory and
    // says so.
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

  open(blocked, version = VERSION) {
    this.#opened = openDatabase(version, blocked).then((database) => {
      // A newer page wants to change the stores: close, and open them again as they are then, so
      // that the class on this page can go on. The same if the browser closed the database.
      const reopen = () => {
        database.close();
        this.open(null, null).catch(() => {});
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
    return this.#change(["lines"], ({ lines }) => {
      for (const record of records) lines.put(record);
    });
  }

  remove(ids) {
    return this.#change(["lines"], ({ lines }) => {
      for (const id of ids) lines.delete(id);
    });
  }

  /* Every record, other tabs' too, in the order of the ids, which is the order of the taps. */
  all() {
    return this.#all("lines");
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

  /* Forget lines that were acknowledged before then, in ms, and what was kept of their classes. */
  deleteSentBefore(before) {
    return this.#change(["sent", "lines", "facts"], ({ sent, lines, facts }) => {
      sent.all((records) => {
        for (const { id, acked } of records) if (acked < before) sent.delete(id);
      });
      lines.all((waiting) => {
        const needed = new Set(waiting.map(({ meeting }) => originOf(meeting)));
        facts.all((known) => {
          for (const { name, value } of known) {
            if (name.startsWith(ORIGIN) && value.at < before && !needed.has(name)) facts.delete(name);
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
    return this.#change(["lines"], ({ lines }) => {
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

  async fact(name) {
    return (await this.#one("facts", name))?.value;
  }

  /* The same change in memory and, in one transaction, on the disk. */
  async #change(names, change) {
    change(Object.fromEntries(names.map((name) => [name, inMemory(this.#memory[name], STORES[name])])));
    if (!this.durable) return;
    try {
      const database = await this.#opened;
      await new Promise((resolve, reject) => {
        const transaction = database.transaction(names, "readwrite", { durability: "strict" });
        transaction.oncomplete = () => resolve();
        transaction.onerror = () => reject(transaction.error);
        transaction.onabort = () => reject(transaction.error);
        change(Object.fromEntries(names.map((name) => [name, onDisk(transaction.objectStore(name))])));
      });
    } catch {
      this.durable = false;
    }
  }

  async #all(name) {
    if (this.durable) return this.#read(name, (store) => store.getAll());
    return inOrder(this.#memory[name], STORES[name]);
  }

  async #one(name, key) {
    if (this.durable) return this.#read(name, (store) => store.get(key));
    return this.#memory[name].get(key);
  }

  async #read(name, ask) {
    const database = await this.#opened;
    return new Promise((resolve, reject) => {
      const request = ask(database.transaction(name, "readonly").objectStore(name));
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });
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
