/** What the phone keeps: the outbox, the pocket registers, acts in hand, and settings; and photos, in a database of their own. */

const VERSION = 1;
/**
 * Every store with the path of its key, by database. No database changes: an older program is kept as long as the outbox holds
 * anything, and could open none of a newer version. What is to be added goes into another one.
 */
const DATABASES = {
  custody: { outbox: "id", pockets: "site", drafts: null, settings: null },
  "custody-photos": { photos: "sha256" },
};

const opened = {};

function open(store) {
  const name = Object.keys(DATABASES).find((each) => store in DATABASES[each]);
  opened[name] ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(name, VERSION);
    asked.onupgradeneeded = () => {
      for (const [each, keyPath] of Object.entries(DATABASES[name])) asked.result.createObjectStore(each, keyPath ? { keyPath } : undefined);
    };
    asked.onsuccess = () => {
      // Another page with a newer program must not wait for this one; and a browser may close what it runs short of.
      asked.result.onversionchange = () => { asked.result.close(); delete opened[name]; };
      asked.result.onclose = () => { delete opened[name]; };
      resolve(asked.result);
    };
    asked.onerror = () => { delete opened[name]; reject(asked.error); };
  });
  return opened[name];
}

/** Read from a store: `ask` makes one request of it. */
export async function read(store, ask) {
  return run(await open(store), store, "readonly", "default", ask);
}

/** Read from several stores of one database as of one instant: `ask` puts what it gets into the object that this resolves to. */
export async function readTogether(stores, ask) {
  const database = await open(stores[0]);
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
 * With `durability` "relaxed" the disk is not waited for, and the one request of `ask` stands whatever becomes of the page: what changes at
 * every touch must be kept before the page can be left.
 */
export async function write(store, ask, durability = "strict") {
  return run(await open(store), store, "readwrite", durability, ask);
}

function run(database, store, mode, durability, ask) {
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(store, mode, { durability });
    const asked = ask(transaction.objectStore(store));
    // Left to itself it would commit once the page hears that the request is done; a page that goes before aborts it.
    if (durability === "relaxed") transaction.commit();
    transaction.oncomplete = () => resolve(asked?.result);
    transaction.onabort = () => reject(transaction.error);
  });
}
