// What is kept on this device: drafts of visits, visits that wait to be sent, and their photos. "Kept" means: the transaction is complete.

const NAME = "glycol-fleet", VERSION = 2, STORES = ["drafts", "outbox", "photos"];
let opening = null;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => {
      const missing = STORES.filter((store) => !request.result.objectStoreNames.contains(store));
      missing.forEach((store) => request.result.createObjectStore(store, { keyPath: "id" }));
    };
    request.onsuccess = () => {
      const db = request.result;
      db.onversionchange = () => { db.close(); opening = null; }; // a newer program in another tab needs it
      db.onclose = () => { opening = null; };
      resolve(db);
    };
    request.onerror = () => { opening = null; reject(request.error); };
  });
  return opening;
}

// Runs `work(transaction)` and resolves with its result when the transaction is complete, not before.
async function change(work, mode = "readwrite") {
  const db = await open();
  return new Promise((resolve, reject) => {
    const transaction = db.transaction(STORES, mode, { durability: "strict" });
    let result;
    transaction.oncomplete = () => resolve(result?.result);
    transaction.onabort = () => reject(transaction.error ?? new Error("aborted"));
    result = work(transaction);
  });
}

export const draft = (id) => change((t) => t.objectStore("drafts").get(id), "readonly");
export const drafts = () => change((t) => t.objectStore("drafts").getAll(), "readonly");
export const waiting = (id) => change((t) => t.objectStore("outbox").get(id), "readonly");
export const outbox = () => change((t) => t.objectStore("outbox").getAll(), "readonly");
export const keepDraft = (record) => change((t) => { t.objectStore("drafts").put(record); });

// Reads and writes in one transaction, so that another tab cannot come between; `alter` gives the fields that change, if any.
const alterIn = (name) => (id, alter) => change((t) => {
  const store = t.objectStore(name), known = store.get(id);
  known.onsuccess = () => {
    const fields = known.result && alter(known.result);
    if (fields) store.put({ ...known.result, ...fields });
  };
});
export const update = alterIn("outbox");

export const photos = () => change((t) => t.objectStore("photos").getAll(), "readonly");
export const keepPhoto = (record) => change((t) => { t.objectStore("photos").put(record); });
export const alterPhoto = alterIn("photos");
export const dropPhoto = (id) => change((t) => { t.objectStore("photos").delete(id); });

// One way out: the visit enters the outbox and leaves the drafts in one transaction.
export const hand = (record) => change((t) => {
  t.objectStore("outbox").put(record);
  t.objectStore("drafts").delete(record.id);
});

// A visit that is not wanted any more, with its photos.
export const discard = (id) => change((t) => {
  STORES.forEach((store) => { t.objectStore(store).delete(id); });
  const all = t.objectStore("photos").getAll();
  all.onsuccess = () => all.result.filter((each) => each.visit === id).forEach((each) => { t.objectStore("photos").delete(each.id); });
});

// A random UUID also where the page is not a secure context.
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
