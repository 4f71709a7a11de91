/* What this tablet keeps on disk, in four stores:
   lines (id): what the server has not acknowledged, or has refused:
     {id, meeting, author, at, draft, line, answer, code}
   sent (id): what it has acknowledged: {id, meeting, author, line, log, acked}, acked in ms
   packs (meeting): a class as it was fetched: {meeting, author, day, at, pack}
   facts (name): what the tablet knows about itself.
   Names of children are in packs alone; lines carry ids and codes. */

const NAME = "floor";
const VERSION = 2;
const STORES = { lines: "id", facts: "name", sent: "id", packs: "meeting" };

/* "blocked" is called when another page holds the old stores open and has to be closed first;
   the box opens as soon as it is. */
export async function openBox(blocked) {
  const box = new Box();
  try {
    await box.open(blocked);
    box.durable = true;
  } catch {
    // A browser that keeps nothing (private window, full disk): the page goes on in memory
    // and says so.
  }
  return box;
}

/* Version 1 had lines and facts alone: what is in them stays as it is. Version null:
   the stores as they are, whoever made them. */
function openDatabase(version, blocked) {
  return new Promise((resolve, reject) => {
    const request = version === null ? indexedDB.open(NAME) : indexedDB.open(NAME, version);
    request.onupgradeneeded = () => {
      const there = request.result.objectStoreNames;
      for (const [name, keyPath] of Object.entries(STORES)) {
        if (!there.contains(name)) request.result.createObjectStore(name, { keyPath });
      }
    };
    request.onblocked = () => blocked?.();
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

class Box {
  // False once a write has failed: what waits is then in the memory of this page alone.
  durable = false;
  // The database, promised.
  #opened = null;
  #memory = Object.fromEntries(Object.keys(STORES).map((name) => [name, new Map()]));

  open(blocked, version = VERSION) {
    this.#opened = openDatabase(version, blocked).then((database) => {
      // A newer page wants to change the stores: make way, and go on with what it leaves, so
      // that a class that runs on this page loses nothing. The same if the browser closed it.
      const again = () => {
        database.close();
        this.open(null, null).catch(() => {});
      };
      database.onversionchange = again;
      database.onclose = again;
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

  /* The server has these lines: in one step out of what waits and into what was sent. "log"
     is the name that the server gave its log in the answer. */
  acknowledge(records, log, acked = Date.now()) {
    return this.#change(["lines", "sent"], ({ lines, sent }) => {
      for (const { id, meeting, author, line } of records) {
        lines.delete(id);
        sent.put({ id, meeting, author, line, log, acked });
      }
    });
  }

  /* What was acknowledged under another log than this one, in the order of the taps. */
  async sentAll(log) {
    return (await this.#all("sent")).filter((record) => record.log !== log);
  }

  /* Back among what waits, in one step. Ids that are not among what was sent are passed over. */
  requeue(ids) {
    return this.#change(["lines", "sent"], ({ lines, sent }) => {
      for (const id of ids) {
        sent.get(id, (found) => {
          if (!found) return;
          const { meeting, author, line } = found;
          const at = Date.parse(line.at);
          lines.put({ id, meeting, author, at, draft: false, line, answer: null, code: null });
          sent.delete(id);
        });
      }
    });
  }

  /* Lines acknowledged before then, in ms, need not be kept. */
  forgetSent(before) {
    return this.#change(["sent"], ({ sent }) => {
      sent.all((records) => {
        for (const { id, acked } of records) if (acked < before) sent.delete(id);
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

  /* Only the packs for which "keep" is true are left. */
  wipePacks(keep) {
    return this.#change(["packs"], ({ packs }) => {
      packs.all((records) => {
        for (const record of records) if (!keep(record)) packs.delete(record.meeting);
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
