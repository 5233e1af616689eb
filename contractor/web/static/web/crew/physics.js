// What gauges and thermometers tell: the engine's definitions, without the engine.

import { digits } from "./digits.js";
import { number } from "./number.js";
import { barometric, fromSi, KIND, toSi } from "./units.js";

export { barometric, digits, fromSi, KIND, number, toSi };

const OTHER = {
  degF: "degC", degC: "degF", psig: "kPa_gauge", kPa_gauge: "psig", bar_gauge: "psig", inHg_vacuum: "kPa_abs", psia: "kPa_abs", kPa_abs: "psia",
  bar_abs: "psia", psi: "kPa", ftH2O: "kPa", inH2O: "kPa", kPa: "psi", bar: "psi", gpm: "L/s", "L/s": "gpm", "L/min": "gpm",
  "m**3/h": "gpm",
};

// "= 29.6 °C": what was typed, in the other system's unit; "" where there is nothing to say.
export function converted(text, kind, unit, elevation) {
  const si = toSi(number(text), kind, unit, elevation), other = OTHER[unit];
  if (si === null || !other) return "";
  const value = fromSi(si, kind, other, elevation);
  return `= ${digits(value, Math.abs(value) < 10 ? 2 : Math.abs(value) < 100 ? 1 : 0)} ${KIND[kind][other][2]}`;
}

// Saturation temperature [K] on a line {temperature_k, pressure_pa}: 1/T is nearly straight over ln p. Null outside.
export function saturation(line, pressure) {
  const p = line.pressure_pa, t = line.temperature_k;
  if (pressure === null || !(pressure >= p[0] && pressure <= p[p.length - 1])) return null;
  let low = 0, high = p.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (p[middle] <= pressure) low = middle; else high = middle;
  }
  const share = Math.log(pressure / p[low]) / Math.log(p[high] / p[low]);
  return 1 / ((1 - share) / t[low] + share / t[high]);
}

// A table file's two lines.
export const lines = (raw) => ({
  refrigerant: raw.refrigerant,
  bubble: { temperature_k: raw.temperature_k, pressure_pa: raw.bubble_pa },
  dew: { temperature_k: raw.temperature_k, pressure_pa: raw.dew_pa },
});

const minus = (a, b) => (a === null || b === null ? null : a - b);

// Flow over design as a clean passage's pressure drop tells it on plain water: (dp/dp0)^(1/n). Null on anything else,
// and where the record says that the drop read is not all the exchanger's own.
function byDrop(drop, design) {
  const known = drop !== null && drop >= 0 && design?.pressure_drop_pa && design.plain_water && design.drop_is_own !== false;
  return known ? (drop / design.pressure_drop_pa) ** (1 / design.exponent) : null;
}

// From SI values and the refrigerant's table: what a technician looks at before writing anything down.
export function told(si, mode, table, design) {
  const at = (name) => si[name] ?? null, cooling = mode === "cooling";
  const line = (which, name) => (table ? saturation(table[which], at(name)) : null);
  const flow = design?.flow_m3_per_s, metered = at("water_flow") !== null && flow ? at("water_flow") / flow : null;
  const headBubble = line("bubble", "head_pressure"), suctionDew = line("dew", "suction_pressure");
  return {
    head_saturation_k: headBubble,
    head_dew_k: line("dew", "head_pressure"),
    suction_saturation_k: suctionDew,
    superheat_k: minus(at("suction_line"), suctionDew),
    subcooling_k: minus(headBubble, at("liquid_line")),
    approach_k: cooling ? minus(headBubble, at("leaving_water")) : minus(at("leaving_water"), suctionDew),
    water_change_k: cooling ? minus(at("leaving_water"), at("entering_water")) : minus(at("entering_water"), at("leaving_water")),
    flow_over_design: metered ?? byDrop(at("water_pressure_drop"), design),
    flow_is_metered: metered !== null,
    outside: [["head", "head_pressure", headBubble], ["suction", "suction_pressure", suctionDew]]
      .filter(([, name, found]) => table && at(name) !== null && found === null).map(([line]) => line),
  };
}
