// Photos of a visit: made smaller, kept on this device at once, sent after the visit.

import { deliver, element } from "./app.js";
import { writer } from "./sender.js";
import { alterPhoto, dropPhoto, keepPhoto, newId, photos } from "./store.js";

const LONGEST_EDGE = 1600, QUALITY = 0.8;
const WHEN = { "": "not recorded", as_found: "as found", as_left: "as left" };
const state = document.getElementById("photo-state"), list = document.getElementById("taken");

function say(text) { state?.replaceChildren(...(text ? [element("p", text, { class: "soft" })] : [])); }

// A JPEG of at most 1600 pixels; what this browser cannot read is sent as it is, and the server says whether it can.
async function smaller(file) {
  let picture;
  try {
    picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch {
    return file;
  }
  const scale = Math.min(1, LONGEST_EDGE / Math.max(picture.width, picture.height)), canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [Math.round(picture.width * scale), Math.round(picture.height * scale)];
  const paper = canvas.getContext("2d");
  paper.fillStyle = "#fff";
  paper.fillRect(0, 0, canvas.width, canvas.height);
  paper.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return (await new Promise((made) => { canvas.toBlob(made, "image/jpeg", QUALITY); })) ?? file;
}

// Keeps one; "kept" means that the transaction is complete. What cannot be kept stays on the page with a button to try again.
async function keep(record) {
  try {
    await keepPhoto(record);
    say("The photo is kept on this device.");
    return true;
  } catch (fault) {
    say(`This device cannot keep the photo (${fault.name}): it is NOT kept. Free some space and take it again; leave this page open until then.`);
    return false;
  }
}

const record = (visit, unit, blob, about) => ({ id: newId(), visit, unit, writer, blob, caption: "", when: "", ...about, written: Date.now(), state: "waiting", tries: 0, next: 0 });

// On the form of a visit that is not stored yet: the photos follow it.
export async function takePhotos(form, visit) {
  const part = document.getElementById("take-photos");
  part.hidden = false;
  for (const input of part.querySelectorAll("input[type=file]")) {
    input.addEventListener("change", async () => {
      const chosen = [...input.files];
      for (const file of chosen) {
        if (await keep(record(visit, form.dataset.unit, await smaller(file), {}))) input.value = "";
      }
      await showTaken(visit);
    });
  }
  await showTaken(visit);
}

async function showTaken(visit) {
  const own = (await photos()).filter((each) => each.visit === visit && each.writer === writer).sort((a, b) => a.written - b.written);
  list.querySelectorAll("img").forEach((image) => URL.revokeObjectURL(image.src));
  list.replaceChildren(...own.map((each, n) => taken(each, n + 1)));
}

function taken(photo, n) {
  const item = element("li", ""), image = element("img", "", { src: URL.createObjectURL(photo.blob), alt: `photo ${n}`, width: 160 });
  const caption = element("input", "", { "aria-label": `What photo ${n} shows`, maxlength: 300, placeholder: "what it shows", value: photo.caption });
  const when = element("select", "", { "aria-label": `When photo ${n} was taken` });
  Object.entries(WHEN).forEach(([value, words]) => when.append(element("option", words, { value, ...(value === photo.when ? { selected: "" } : {}) })));
  const drop = element("button", "Remove", { type: "button", "aria-label": `Remove photo ${n}` });
  const changed = () => alterPhoto(photo.id, () => ({ caption: caption.value.trim(), when: when.value })).catch((fault) => say(`Not kept (${fault.name}).`));
  [caption, when].forEach((field) => field.addEventListener("input", (event) => { event.stopPropagation(); changed(); }));
  drop.addEventListener("click", async () => { await dropPhoto(photo.id); await showTaken(photo.visit); });
  item.append(image, caption, when, drop);
  return item;
}

// Once the visit is handed in, its photos are sent as they are; a refused visit and its photos can be changed.
export function closePhotos(closed) {
  document.getElementById("take-photos").querySelectorAll("input, select, button").forEach((field) => { field.disabled = closed; });
}

// On the page of a stored visit: the form without a script, made smaller first and kept until it is sent.
function addToStored(form) {
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const about = { caption: form.elements.caption.value.trim(), when: form.elements.when.value, stored: true };
    const chosen = [...form.querySelectorAll("input[type=file]")].flatMap((input) => [...input.files]);
    if (!chosen.length) { say("Choose a picture first."); return; }
    for (const file of chosen) {
      if (!(await keep(record(form.dataset.visitId, form.dataset.unit, await smaller(file), about)))) return;
    }
    form.reset();
    const ended = await deliver(), left = (await photos()).filter((each) => each.visit === form.dataset.visitId);
    if (!left.length) location.reload();
    else if (left.some((each) => each.state === "refused")) say("Refused; the reason is shown above.");
    else say(ended === "signed out" ? "Waiting: sign in again, and it is sent." : "Waiting to be sent: there is no connection. It is kept on this device.");
  });
}

const added = document.getElementById("add-photo");
if (added && writer) addToStored(added);
