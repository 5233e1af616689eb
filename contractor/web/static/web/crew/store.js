// What this phone keeps: entries not yet sent, drafts as typed, answers. Each belongs to one person.

const NAME = "waterside", VERSION = 1;
export const person = document.querySelector("meta[name=person]")?.content || "";
let opening;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, VERSION);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("outbox", { keyPath: "seq", autoIncrement: true });
      asked.result.createObjectStore("drafts", { keyPath: ["person", "form"] });
      asked.result.createObjectStore("kept", { keyPath: ["person", "name"] });
    };
    asked.onsuccess = () => {
      const forget = () => { opening = undefined; };
      asked.result.onversionchange = () => { asked.result.close(); forget(); };
      asked.result.onclose = forget;
      resolve(asked.result);
    };
    asked.onerror = () => { opening = undefined; reject(asked.error); };
  });
  return opening;
}

async function once(names, mode, work) {
  const deal = (await open()).transaction(names, mode, { durability: mode === "readwrite" ? "strict" : "default" });
  return new Promise((resolve, reject) => {
    const request = work(...names.map((name) => deal.objectStore(name)));
    deal.oncomplete = () => resolve(request?.result);
    deal.onabort = deal.onerror = () => reject(deal.error);
  });
}

// One short transaction over the named stores; a lost connection (a phone that slept) is opened again, once.
export async function within(names, mode, work) {
  try {
    return await once(names, mode, work);
  } catch (error) {
    if (!["InvalidStateError", "UnknownError"].includes(error?.name)) throw error;
    opening = undefined;
    return once(names, mode, work);
  }
}

const mine = (row) => row.person === person;
export const draftOf = (form) => within(["drafts"], "readonly", (drafts) => drafts.get([person, form]));
export const keepDraft = (draft) => within(["drafts"], "readwrite", (drafts) => drafts.put({ ...draft, person }));
export const dropDraft = (form) => within(["drafts"], "readwrite", (drafts) => drafts.delete([person, form]));
export const drafts = async () => (await within(["drafts"], "readonly", (rows) => rows.getAll())).filter(mine);
export const entries = async () => (await within(["outbox"], "readonly", (rows) => rows.getAll())).filter(mine);
export const keep = (name, value) => within(["kept"], "readwrite", (rows) => rows.put({ person, name, value, at: Date.now() }));
export const kept = async (name) => (await within(["kept"], "readonly", (rows) => rows.get([person, name])))?.value;
export const answers = async () =>
  (await within(["kept"], "readonly", (rows) => rows.getAll())).filter((row) => mine(row) && row.name.startsWith("answer:")).map((row) => row.value);

const OLD_MS = 3 * 24 * 3600 * 1000;
export const tidy = () => within(["kept"], "readwrite", (rows) => {
  rows.openCursor().onsuccess = (event) => {
    const cursor = event.target.result;
    if (!cursor) return;
    if (Date.now() - cursor.value.at > OLD_MS) cursor.delete();
    cursor.continue();
  };
});
