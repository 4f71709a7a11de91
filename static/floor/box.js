/* What this tablet keeps on disk: the lines that the server has not acknowledged, and a few
   facts about the tablet. A record of a line is
   {id, meeting, author, at, draft, line, answer, code}; lines carry ids and codes, no names. */

const NAME = "floor";
const VERSION = 1;

export async function openBox() {
  const box = new Box();
  try {
    box.database = await openDatabase();
    box.durable = true;
  } catch {
    // A browser that keeps nothing (private window, full disk): the page goes on in memory
    // and says so.
  }
  return box;
}

function openDatabase() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("lines", { keyPath: "id" });
      request.result.createObjectStore("facts", { keyPath: "name" });
    };
    request.onsuccess = () => {
      // A newer page may want to change the stores; it must not wait for this one.
      request.result.onversionchange = () => request.result.close();
      resolve(request.result);
    };
    request.onerror = () => reject(request.error);
  });
}

class Box {
  database = null;
  // False once a write has failed: what waits is then in the memory of this page alone.
  durable = false;
  #lines = new Map();
  #facts = new Map();

  /* Resolves when the records are on the disk, not merely handed over; or, if the disk will
     not take them, when they are in memory and "durable" is false. */
  async put(records) {
    for (const record of records) this.#lines.set(record.id, record);
    await this.#write("lines", (store) => records.forEach((record) => store.put(record)));
  }

  async remove(ids) {
    for (const id of ids) this.#lines.delete(id);
    await this.#write("lines", (store) => ids.forEach((id) => store.delete(id)));
  }

  /* Every record, other tabs' too, in the order of the ids, which is the order of the taps. */
  async all() {
    if (this.durable) return this.#read("lines", (store) => store.getAll());
    return [...this.#lines.values()].sort((one, other) => (one.id < other.id ? -1 : 1));
  }

  async setFact(name, value) {
    this.#facts.set(name, value);
    await this.#write("facts", (store) => store.put({ name, value }));
  }

  async fact(name) {
    if (!this.durable) return this.#facts.get(name);
    return (await this.#read("facts", (store) => store.get(name)))?.value;
  }

  async #write(name, change) {
    if (!this.durable) return;
    try {
      await new Promise((resolve, reject) => {
        const options = { durability: "strict" };
        const transaction = this.database.transaction(name, "readwrite", options);
        transaction.oncomplete = () => resolve();
        transaction.onerror = () => reject(transaction.error);
        transaction.onabort = () => reject(transaction.error);
        change(transaction.objectStore(name));
      });
    } catch {
      this.durable = false;
    }
  }

  #read(name, ask) {
    return new Promise((resolve, reject) => {
      const request = ask(this.database.transaction(name, "readonly").objectStore(name));
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });
  }
}
