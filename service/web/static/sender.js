// Sends what waits, oldest first. Only an answer that repeats the id ends a record; a refused one does not hold the next.

import { alterPhoto, discard, dropPhoto, outbox, photos, update } from "./store.js";

const REFUSALS = [400, 403, 404, 409, 413, 415, 422], LONGEST_WAIT = 5 * 60_000, KEPT_DAYS = 7, TIMEOUT = 20_000, PHOTO_TIMEOUT = 180_000;
let round = Promise.resolve("");

export const writer = document.body.dataset.writer ?? "";

// Resolves when a round of its own is over, after the one that runs; "signed out" when the server asks for signing in.
export function sendAll() {
  if (writer) round = round.catch(() => "").then(() => (navigator.locks ? navigator.locks.request("outbox", sendWaiting) : sendWaiting()));
  return round;
}

async function sendWaiting() {
  const records = (await outbox()).sort((a, b) => a.written - b.written), awaited = new Set((await photos()).map((each) => each.visit));
  for (const record of records) {
    if (record.state === "sent" && Date.now() - record.sent > KEPT_DAYS * 86_400_000 && !awaited.has(record.id)) await discard(record.id);
    if (record.state !== "waiting" || record.writer !== writer || record.next > Date.now()) continue;
    if ((await send(record)) === "signed out") return "signed out";
  }
  return sendPhotos();
}

// Photos follow their visits, one at a time; one that the server has is not kept here any longer.
async function sendPhotos() {
  const stored = new Set((await outbox()).filter((each) => each.state === "sent").map((each) => each.id));
  for (const photo of (await photos()).sort((a, b) => a.written - b.written)) {
    const ready = photo.state === "waiting" && photo.writer === writer && photo.next <= Date.now() && (photo.stored || stored.has(photo.visit));
    if (ready && (await sendPhoto(photo)) === "signed out") return "signed out";
  }
  return "";
}

// The answer, null where there is no connection, and its JSON, null where it has none.
async function post(path, content, timeout) {
  try {
    const answer = await fetch(path, { method: "POST", headers: { Accept: "application/json" }, body: content, redirect: "error", signal: AbortSignal.timeout(timeout) });
    const body = (answer.headers.get("Content-Type") ?? "").includes("json") ? await answer.json() : null;
    return { answer, body };
  } catch {
    return { answer: null, body: null };
  }
}

const isRefusal = ({ answer, body }) => answer && body && REFUSALS.includes(answer.status);

function later(record, answer) {
  const tries = record.tries + 1, asked = Number(answer?.headers.get("Retry-After")) * 1000 || 0;
  const pause = Math.min(LONGEST_WAIT, 1000 * 2 ** Math.min(tries, 9)) * (0.5 + Math.random() / 2);
  return { tries, next: Date.now() + Math.max(pause, asked) };
}

async function send(record) {
  const got = await post(record.path, new URLSearchParams([...record.entries, ["do", "store"]]), TIMEOUT), { answer, body } = got;
  if (answer?.status === 401) return "signed out";
  const end = (fields) => update(record.id, (now) => (now.state === "waiting" && now.written === record.written ? fields : null));
  if (answer?.ok && body?.id === record.id) await end({ state: "sent", sent: Date.now(), shown: body.path });
  else if (isRefusal(got)) await end({ state: "refused", why: body.detail ?? body.title ?? "", fields: body.fields ?? {} });
  else await end(later(record, answer));
  return "";
}

async function sendPhoto(photo) {
  const form = new FormData();
  ["id", "writer", "caption", "when"].filter((name) => photo[name]).forEach((name) => form.append(name, photo[name]));
  form.append("photo", photo.blob, "photo");
  const got = await post(`/visits/${photo.visit}/photos`, form, PHOTO_TIMEOUT), { answer, body } = got;
  if (answer?.status === 401) return "signed out";
  if (answer?.ok && body?.id === photo.id) await dropPhoto(photo.id);
  else await alterPhoto(photo.id, () => (isRefusal(got) ? { state: "refused", why: body.detail ?? body.title ?? "" } : later(photo, answer)));
  return "";
}

// After a connection has come back nothing waits for its pause.
export async function hurry() {
  const atOnce = (now) => (now.state === "waiting" && now.next ? { next: 0 } : null);
  for (const { id } of await outbox()) await update(id, atOnce);
  for (const { id } of await photos()) await alterPhoto(id, atOnce);
}
