// On every page: the worker that keeps pages for when there is no connection, and what waits to be sent.

import { drafts, dropPhoto, newId, outbox, photos } from "./store.js";
import { hurry, sendAll, writer } from "./sender.js";

const bar = document.getElementById("outbox"), EVERY = 15_000;

export function element(name, text, attributes = {}) {
  const made = document.createElement(name);
  made.textContent = text;
  Object.entries(attributes).forEach(([key, value]) => made.setAttribute(key, value));
  return made;
}

// What is on this device and not on the server, with a link to each.
export async function show(state = "") {
  if (!bar) return;
  const own = (record) => record.writer === writer;
  const all = await outbox(), kept = all.filter((each) => each.state !== "sent"), handed = new Set(all.map(({ id }) => id));
  const open = (await drafts()).filter((each) => own(each) && !handed.has(each.id));
  const lines = [
    ...kept.filter(own).map((each) => line(each, each.state === "refused" ? "refused, open it to correct it" : "waiting to be sent")),
    ...open.filter((each) => each.path !== location.pathname).map((each) => line(each, "begun, not stored")),
  ];
  const pictures = (await photos()).filter((each) => own(each) && (each.stored || handed.has(each.visit)));
  lines.push(...pictures.filter((each) => each.state === "refused").map(refusedPhoto));
  const waiting = pictures.filter((each) => each.state === "waiting").length;
  if (waiting) lines.push(element("p", waiting === 1 ? "1 photo waits to be sent." : `${waiting} photos wait to be sent.`));
  const others = kept.filter((each) => !own(each)).length;
  if (others) lines.push(element("p", `${others === 1 ? "1 visit of another person waits" : `${others} visits of other persons wait`} on this device for ${others === 1 ? "that person" : "them"} to sign in.`));
  if (state === "signed out" && (kept.length || waiting)) lines.unshift(signIn());
  bar.replaceChildren(...lines);
  bar.hidden = !lines.length;
}

function line(record, what) {
  const made = element("p", "Visit to ");
  made.append(element("a", record.unit, { href: record.path }), `, ${record.begun ?? ""}: ${what}.`);
  return made;
}

function refusedPhoto(photo) {
  const made = element("p", `A photo of the visit to ${photo.unit} was refused: ${photo.why} `), drop = element("button", "Discard the photo", { type: "button" });
  drop.addEventListener("click", async () => { await dropPhoto(photo.id); await show(); });
  made.append(drop);
  return made;
}

function signIn() {
  const made = element("p", "Your session has ended. Nothing is lost: ");
  made.append(element("a", "sign in", { href: "/sign-in" }), ", and what waits is sent.");
  return made;
}

export async function deliver() {
  const state = await sendAll();
  await show(state);
  return state;
}

// A visit gets its id on this device, so that the form opens without a connection too.
function nameVisits() {
  document.querySelectorAll("a[data-visit]").forEach((link) => {
    link.addEventListener("click", () => { link.href = link.getAttribute("href").replace(/\/[^/]*$/, `/${newId()}`); });
  });
}

async function startWorker() {
  if (!("serviceWorker" in navigator)) return;
  const policy = window.trustedTypes?.createPolicy("worker", {
    createScriptURL: (path) => { if (path === "/sw.js") return path; throw new TypeError(path); },
  });
  const registration = await navigator.serviceWorker.register(policy ? policy.createScriptURL("/sw.js") : "/sw.js", { updateViaCache: "none" });
  registration.update().catch(() => {}); // without a connection there is none
  await navigator.serviceWorker.ready;
  const units = [...document.querySelectorAll("[data-keep]")].map((link) => link.getAttribute("href"));
  const paths = location.pathname === "/" ? [...(location.search ? [] : ["/"]), ...units.flatMap((path) => [path, `${path}/visits/form`])] : [];
  registration.active?.postMessage({ writer, paths: [...new Set(paths)] });
}

// The numeric keypad of some phones has no minus: a button changes the sign of the field of its row that was typed in last.
function changeSigns() {
  let last = null;
  document.querySelectorAll("button.sign").forEach((button) => { button.hidden = false; });
  document.addEventListener("focusin", ({ target }) => { if (target.inputMode === "decimal") last = target; });
  document.addEventListener("mousedown", (event) => { if (event.target.closest("button.sign")) event.preventDefault(); }); // the field keeps the focus
  document.addEventListener("click", ({ target }) => {
    const fields = [...(target.closest("button.sign")?.closest("tr").querySelectorAll("input[inputmode=decimal]") ?? [])];
    const field = fields.includes(last) ? last : (fields.find(({ value }) => value) ?? fields[0]);
    if (!field) return;
    field.value = field.value.startsWith("-") ? field.value.slice(1) : `-${field.value}`;
    field.focus();
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
}

function forgetAtSignOut() {
  document.querySelector('form[action="/sign-out"]')?.addEventListener("submit", () => { window.caches?.delete("pages"); });
}

if (writer) {
  nameVisits();
  changeSigns();
  forgetAtSignOut();
  startWorker().catch((fault) => console.warn("nothing is kept for when there is no connection:", fault.message));
  const again = () => deliver().catch((fault) => console.warn("not sent:", fault.message));
  addEventListener("online", () => hurry().then(again));
  addEventListener("focus", again);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) again(); });
  setInterval(again, EVERY);
  again();
}
