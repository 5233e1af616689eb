// A descale's signature: drawn with a finger, or a typed name that is ticked as it.

import { drawing } from "./pad.js";

const pad = drawing(document.getElementById("pad")), form = document.getElementById("signature");

export function beside(body) {
  body.strokes = body.typed ? [] : pad.strokes();
  if (!body.typed && !body.strokes.length) throw { field: form.elements.typed, words: "Draw the signature in the box, or tick that the typed name is it." };
  return [];
}

export const kept = () => pad.wipe();
