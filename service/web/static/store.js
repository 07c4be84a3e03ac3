// What is kept on this device: drafts of visits, and visits that wait to be sent. "Kept" means: the transaction is complete.

const NAME = "glycol-fleet", VERSION = 1, STORES = ["drafts", "outbox"];
let opening = null;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => STORES.forEach((store) => request.result.createObjectStore(store, { keyPath: "id" }));
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
export const update = (id, alter) => change((t) => {
  const store = t.objectStore("outbox"), known = store.get(id);
  known.onsuccess = () => {
    const fields = known.result && alter(known.result);
    if (fields) store.put({ ...known.result, ...fields });
  };
});

// One way out: the visit enters the outbox and leaves the drafts in one transaction.
export const hand = (record) => change((t) => {
  t.objectStore("outbox").put(record);
  t.objectStore("drafts").delete(record.id);
});

export const discard = (id) => change((t) => STORES.forEach((store) => { t.objectStore(store).delete(id); }));

// A random UUID also where the page is not a secure context.
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
