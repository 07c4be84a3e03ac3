// The form of a visit: kept on every input, assessed while typing, handed to the outbox when it is stored.

import { deliver, element, show } from "./app.js";
import { closePhotos, takePhotos } from "./photos.js";
import { writer } from "./sender.js";
import { discard, draft, hand, keepDraft, waiting } from "./store.js";

const form = document.getElementById("visit"), state = document.getElementById("draft-state");
const box = document.getElementById("assessment"), now = document.getElementById("bath-now");
const id = location.pathname.split("/").at(-1), ASSESS_AFTER = 700, STALE = 120_000;
const WORDS = { stop: "Danger", act: "To correct", note: "Worth knowing", fine: "As it should be" };
let timer = 0, asked = 0, leaving = false;

const entries = () => [...new FormData(form)].filter(([name]) => name !== "do" && name !== "writer" && name !== "system")
  .concat([["writer", writer], ["system", form.elements.system.value]]);

function record() {
  const begun = `${form.elements.day.value} ${form.elements.arrived.value}`.trim();
  return { id, unit: form.dataset.unit, path: location.pathname, entries: entries(), writer, begun, written: Date.now(), schema: 1 };
}

function say(text) { state.replaceChildren(...(text ? [element("p", text, { class: "soft" })] : [])); }

async function keep() {
  try {
    await keepDraft(record());
    say("Kept on this device.");
  } catch (fault) {
    say(`This device cannot keep the form (${fault.name}): free some space, and do not close this page before it is stored.`);
  }
}

function fill(kept) {
  for (let n = 3; kept.some(([name]) => name === `bath:${n}` || name === `bath_at:${n}`); n += 1) addBathRow();
  const values = Map.groupBy ? Map.groupBy(kept, ([name]) => name) : grouped(kept);
  for (const field of form.elements) {
    if (!field.name || field.type === "hidden" || field.tagName === "BUTTON") continue;
    const given = (values.get(field.name) ?? []).map(([, value]) => value);
    if (field.type === "radio" || field.type === "checkbox") field.checked = given.includes(field.value);
    else field.value = given[0] ?? "";
    if (field.value && (field.type !== "radio" || field.checked) && given.some(Boolean)) open(field);
  }
}

function grouped(pairs) {
  const found = new Map();
  pairs.forEach((pair) => found.set(pair[0], [...(found.get(pair[0]) ?? []), pair]));
  return found;
}

function open(field) { for (let at = field.closest("details"); at; at = at.parentElement.closest("details")) at.open = true; }

function labelOf(field, name) {
  const words = field?.getAttribute("aria-label") ?? (field?.labels?.[0] ?? field?.querySelector("legend"))?.firstChild?.textContent.trim();
  return words || name.replaceAll(":", " ").replaceAll("_", " ").trim();
}

function forgetFaults() {
  form.querySelectorAll(".fault").forEach((each) => each.remove());
  form.querySelectorAll(".wrong").forEach((each) => each.classList.remove("wrong"));
  form.querySelectorAll("[aria-invalid]").forEach((each) => ["aria-invalid", "aria-describedby"].forEach((name) => each.removeAttribute(name)));
}

function pointOut(kept) {
  forgetFaults();
  const list = element("ul", "");
  Object.entries(kept.fields ?? {}).forEach(([name, messages]) => {
    const field = document.getElementById(`f-${name}`), item = element("li", "");
    item.append(element("a", `${labelOf(field, name)}: ${messages.join("; ")}`, { href: `#f-${name}` }));
    list.append(item);
    if (!field) return;
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", `fault-${name}`);
    const part = field.closest(".field, td, fieldset") ?? field.parentElement;
    part.classList.add("wrong");
    part.append(element("span", messages.join("; "), { class: "fault", id: `fault-${name}` }));
    open(field);
  });
  const faults = element("div", "", { class: "faults", role: "alert", tabindex: "-1" });
  faults.append(element("h2", "Not stored yet"), ...(list.children.length ? [list] : [element("p", kept.why)]));
  const drop = element("button", "Discard this visit", { type: "button" });
  drop.addEventListener("click", async () => { if (confirm("Discard what is written here? It was not stored.")) { await discard(id); location.assign("/"); } });
  faults.append(drop);
  state.replaceChildren(faults);
  faults.focus();
}

// To the stored visit, once: a second tap would break off what the first one opens.
function leave(path) {
  if (!leaving) location.assign(path);
  leaving = true;
}

async function store() {
  await hand({ ...record(), state: "waiting", tries: 0, next: 0 });
  closePhotos(true);
  say("Kept on this device, and being sent.");
  const lasting = (await navigator.storage?.persisted?.()) || (await navigator.storage?.persist?.());
  const ended = await deliver(), kept = await waiting(id);
  if (kept.state === "sent") leave(kept.shown);
  else if (kept.state === "refused") { closePhotos(false); pointOut(kept); }
  else say(ended === "signed out" ? "Waiting: sign in again, and it is sent." : "Waiting to be sent: there is no connection. You may close this page; it is kept on this device." + (lasting ? "" : " Put these pages on the home screen, so that the browser does not delete it after some days."));
}

// A device that cannot keep the visit sends it as a form without a script does, if there is a connection.
async function sendUnkept(fault) {
  say(`This device cannot keep the visit (${fault.name}). Free some space and store it again; this page still holds it.`);
  const connected = await fetch("/offline", { method: "HEAD", cache: "no-store" }).then((answer) => answer.ok, () => false);
  if (connected) form.submit();
}

async function assess() {
  const mine = (asked += 1);
  try {
    const answer = await fetch(location.pathname, { method: "POST", headers: { Accept: "application/json" }, body: new URLSearchParams([...entries(), ["do", "assess"]]) });
    const body = await answer.json();
    if (mine !== asked) return;
    if (answer.ok) render(body);
    else box.replaceChildren(element("p", `Not assessed yet: ${body.detail ?? body.title}`, { class: "soft" }));
  } catch {
    if (mine === asked) box.replaceChildren(element("p", "The readings are assessed when there is a connection.", { class: "soft" }));
  }
}

function render(assessment) {
  const cautions = new Set(); // each is shown once
  const made = assessment.findings.map((finding) => {
    const part = element("div", "", finding.severity === "fine" ? {} : { class: "say" }), first = element("p", "");
    first.append(element("strong", `${WORDS[finding.severity]}: `), finding.sentence);
    part.append(first);
    if (finding.caution && !cautions.has(finding.caution)) part.append(element("p", finding.caution, { class: "caution" }));
    cautions.add(finding.caution);
    if (finding.advice) part.append(element("p", finding.advice));
    return part;
  });
  if (assessment.findings.some(({ severity }) => severity !== "fine")) {
    const list = element("ol", ""), title = element("p", "");
    title.append(element("strong", "First:"));
    list.append(...assessment.first.map((sentence) => element("li", sentence)));
    made.unshift(title, list);
  }
  box.replaceChildren(...(made.length ? made : [element("p", "The readings allow no conclusion yet.", { class: "soft" })]));
}

function addBathRow() {
  const body = document.querySelector("#bath tbody"), n = body.rows.length, row = body.rows[0].cloneNode(true);
  row.querySelectorAll("input").forEach((input) => {
    const name = input.name.replace(/\d+$/, n);
    Object.assign(input, { name, id: `f-${name}`, value: "", defaultValue: "" });
    input.setAttribute("aria-label", input.getAttribute("aria-label").replace(/\d+$/, n + 1));
  });
  body.append(row);
}

function readBathNow() {
  const rows = document.querySelector("#bath tbody").rows, free = [...rows].find((row) => [...row.querySelectorAll("input")].every((input) => !input.value));
  if (!free) addBathRow();
  const [clock, value] = (free ?? rows[rows.length - 1]).querySelectorAll("input");
  clock.value = localNow().slice(11, 16);
  value.focus();
  keep();
}

function localNow() {
  const at = new Date();
  return new Date(at - at.getTimezoneOffset() * 60_000).toISOString();
}

// Enter goes on to the next field: only the button stores the visit.
function onEnter(event) {
  if (event.key !== "Enter" || event.target.tagName !== "INPUT") return;
  event.preventDefault();
  const fields = [...form.querySelectorAll("input:not([type=hidden]), select, textarea")].filter((field) => field.offsetParent);
  fields[fields.indexOf(event.target) + 1]?.focus();
}

async function start() {
  if (id === "form") return;
  const handed = await waiting(id), kept = (await draft(id)) ?? handed; // handing a visit in ends its draft: one that is there is later
  if (handed?.state === "sent") { location.replace(handed.shown); return; }
  if (kept && kept.writer === writer) {
    fill(kept.entries);
    if (handed?.state === "refused") pointOut(handed);
    else say(kept.state === "waiting" ? "Waiting to be sent." : "As you left it on this device.");
  } else if (Date.now() - Number(form.dataset.made) > STALE && !document.getElementById("faults")) {
    [form.elements.day.value, form.elements.arrived.value] = [localNow().slice(0, 10), localNow().slice(11, 16)];
  }
  form.addEventListener("input", () => { keep(); clearTimeout(timer); timer = setTimeout(assess, ASSESS_AFTER); });
  form.addEventListener("keydown", onEnter);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (event.submitter?.value === "store") store().catch(sendUnkept);
    else assess();
  });
  await takePhotos(form, id);
  now.hidden = false;
  now.addEventListener("click", readBathNow);
  form.dataset.ready = "1";
  show();
}

start();
