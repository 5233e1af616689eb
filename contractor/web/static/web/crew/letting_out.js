// What stands against letting a bath out, told at the field, offline too.

import { number } from "./number.js";

const NEVER = { storm_drain: "a storm drain", ground: "the ground", well: "a well", septic_tank: "a septic tank" };

// What stands against letting it out, before it is done; "" where nothing does that a phone can tell.
export function against(route, ph) {
  if (NEVER[route]) return `Never to ${NEVER[route]}: hold it.`;
  if (ph === null || route !== "sewer") return "";
  if (ph <= 2 || ph >= 12.5) return "So acid or alkaline it is never let out: neutralise or hold it.";
  return ph < 5 ? "Below pH 5 it does not go to a sewer: neutralise or hold it." : "";
}

const out = document.getElementById("discharge"), wrong = document.getElementById("against");
const look = () => { wrong.textContent = against(out.elements.route.value, number(out.elements.ph.value)); };
out.addEventListener("input", look);
look();
