/** What the phone keeps, in one IndexedDB: the outbox, the pocket registers, acts in hand, and settings. */

const NAME = "custody";
const VERSION = 1;
const STORES = { outbox: "id", pockets: "site", drafts: null, settings: null };

let opened = null;

function open() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, VERSION);
    asked.onupgradeneeded = () => {
      for (const [store, keyPath] of Object.entries(STORES)) asked.result.createObjectStore(store, keyPath ? { keyPath } : undefined);
    };
    asked.onsuccess = () => {
      // Another page with a newer program must not wait for this one; and a browser may close what it runs short of.
      asked.result.onversionchange = () => { asked.result.close(); opened = null; };
      asked.result.onclose = () => { opened = null; };
      resolve(asked.result);
    };
    asked.onerror = () => { opened = null; reject(asked.error); };
  });
  return opened;
}

/** Read from a store: `ask` makes one request of it. */
export async function read(store, ask) {
  return run(await open(), store, "readonly", "default", ask);
}

/** Read from several stores as of one instant: `ask` puts what it gets into the object that this resolves to. */
export async function readTogether(stores, ask) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(stores, "readonly");
    const answer = {};
    ask((store) => transaction.objectStore(store), answer);
    transaction.oncomplete = () => resolve(answer);
    transaction.onabort = () => reject(transaction.error);
  });
}

/**
 * Change a store. Resolves when the change is on the disk, not only on its way there, so that an empty battery takes nothing
 * back; rejects, with nothing changed, for instance with a `QuotaExceededError`. `ask` may make several requests; the last one's result is given.
 * With `durability` "relaxed" the disk is not waited for: what changes at every touch must be kept before the page can be left.
 */
export async function write(store, ask, durability = "strict") {
  return run(await open(), store, "readwrite", durability, ask);
}

function run(database, store, mode, durability, ask) {
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(store, mode, { durability });
    const asked = ask(transaction.objectStore(store));
    transaction.oncomplete = () => resolve(asked?.result);
    transaction.onabort = () => reject(transaction.error);
  });
}
