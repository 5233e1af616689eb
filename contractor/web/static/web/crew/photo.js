// A photo from the phone's camera, made as small as the service keeps it: it waits on the phone and goes by a weak signal.

import { complain, say } from "./forms.js";

const LONGEST_SIDE = 2560, SMALL_BYTES = 1.5e6, MOST_BYTES = 8 * 1024 * 1024, KINDS = ["image/jpeg", "image/png", "image/webp"];

async function smaller(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const share = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height));
  const sheet = Object.assign(document.createElement("canvas"), {
    width: Math.round(picture.width * share), height: Math.round(picture.height * share),
  });
  sheet.getContext("2d").drawImage(picture, 0, 0, sheet.width, sheet.height);
  const blob = await new Promise((made) => sheet.toBlob(made, "image/jpeg", 0.85));
  if (!blob) throw new Error("no picture");
  return { name: file.name.replace(/\.\w+$/, "") + ".jpg", type: blob.type, bytes: await blob.arrayBuffer() };
}

// {name, type, bytes}, or undefined with what is wrong at its field.
export async function taken(form, field) {
  say(form, "The photo is being put on this phone…");
  const [photo, wrong] = await chosen(field);
  complain(field, wrong);
  say(form, photo ? `The photo ${photo.name} is kept on this phone.` : "");
  return photo;
}

async function chosen(field) {
  const file = field.files?.[0];
  if (!file) return [undefined, ""];
  const small = file.size <= SMALL_BYTES && KINDS.includes(file.type);
  const whole = async () => ({ name: file.name, type: file.type, bytes: await file.arrayBuffer() });
  const photo = small ? await whole() : await smaller(file).catch(whole);
  if (photo.bytes.byteLength <= MOST_BYTES) return [photo, ""];
  const mb = (photo.bytes.byteLength / 1024 / 1024).toFixed(0);
  return [undefined, `This file has ${mb} MB; the service takes photos of at most 8 MB. Take a smaller one.`];
}
