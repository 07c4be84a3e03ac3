// Sends what waits, oldest first. Only an answer that repeats the id ends a record; a refused one does not hold the next.

import { discard, outbox, update } from "./store.js";

const REFUSALS = [400, 403, 404, 409, 413, 422], LONGEST_WAIT = 5 * 60_000, KEPT_DAYS = 7, TIMEOUT = 20_000;
let round = Promise.resolve("");

export const writer = document.body.dataset.writer ?? "";

// Resolves when a round of its own is over, after the one that runs; "signed out" when the server asks for signing in.
export function sendAll() {
  if (writer) round = round.catch(() => "").then(() => (navigator.locks ? navigator.locks.request("outbox", sendWaiting) : sendWaiting()));
  return round;
}

async function sendWaiting() {
  const records = (await outbox()).sort((a, b) => a.written - b.written);
  for (const record of records) {
    if (record.state === "sent" && Date.now() - record.sent > KEPT_DAYS * 86_400_000) await discard(record.id);
    if (record.state !== "waiting" || record.writer !== writer || record.next > Date.now()) continue;
    if ((await send(record)) === "signed out") return "signed out";
  }
  return "";
}

async function send(record) {
  let answer = null, body = null;
  try {
    answer = await fetch(record.path, {
      method: "POST",
      headers: { Accept: "application/json" },
      body: new URLSearchParams([...record.entries, ["do", "store"]]),
      redirect: "error",
      signal: AbortSignal.timeout(TIMEOUT),
    });
    body = (answer.headers.get("Content-Type") ?? "").includes("json") ? await answer.json() : null;
  } catch {
    answer = null; // no connection: later
  }
  if (answer?.status === 401) return "signed out";
  const end = (fields) => update(record.id, (now) => (now.state === "waiting" && now.written === record.written ? fields : null));
  if (answer?.ok && body?.id === record.id) {
    await end({ state: "sent", sent: Date.now(), shown: body.path });
  } else if (answer && body && REFUSALS.includes(answer.status)) {
    await end({ state: "refused", why: body.detail ?? body.title ?? "", fields: body.fields ?? {} });
  } else {
    const tries = record.tries + 1, asked = Number(answer?.headers.get("Retry-After")) * 1000 || 0;
    const pause = Math.min(LONGEST_WAIT, 1000 * 2 ** Math.min(tries, 9)) * (0.5 + Math.random() / 2);
    await end({ tries, next: Date.now() + Math.max(pause, asked) });
  }
  return "";
}

// After a connection has come back nothing waits for its pause.
export async function hurry() {
  for (const { id } of await outbox()) await update(id, (now) => (now.state === "waiting" && now.next ? { next: 0 } : null));
}
