// Entries that wait on this device, in the order in which they were tapped (IndexedDB). What is in here goes only when
// the book says that it has it, or when somebody puts a refused one away with a word.
const NAME = "camberbook", STORE = "entries";

function open() {
  return new Promise((done, failed) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "n", autoIncrement: true });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}

async function within(mode, act) {
  const base = await open();
  try {
    return await new Promise((done, failed) => {
      const work = base.transaction(STORE, mode, mode === "readwrite" ? { durability: "strict" } : {});
      const asked = act(work.objectStore(STORE));
      work.oncomplete = () => done(asked.result);
      work.onerror = work.onabort = () => failed(work.error || asked.error);
    });
  } finally { base.close(); }
}

export const add = (entry) => within("readwrite", (store) => store.add(entry));
export const change = (entry) => within("readwrite", (store) => store.put(entry));
export const remove = (n) => within("readwrite", (store) => store.delete(n));
export const all = () => within("readonly", (store) => store.getAll());

// In the order tapped: what is still to be sent, and what the book refused.
export const waiting = async () => (await all()).filter((entry) => entry.state === "waiting");
export const refused = async () => (await all()).filter((entry) => entry.state === "refused");
