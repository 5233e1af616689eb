// What gauges and thermometers say, in SI and back.

import { TEMPERATURE } from "./temperatures.js";

const PSI = 6894.757293168, GPM = 6.30901964e-5, FOOT_OF_WATER = 2989.06692, INCH_OF_WATER = 249.08891;
export const KIND = {
  temperature: TEMPERATURE,
  refrigerant_pressure: {
    psig: [PSI, 0, "psig", true], kPa_gauge: [1e3, 0, "kPa gauge", true], bar_gauge: [1e5, 0, "bar gauge", true],
    inHg_vacuum: [-3386.389, 0, "inHg of vacuum", true], psia: [PSI, 0, "psia"], kPa_abs: [1e3, 0, "kPa absolute"], bar_abs: [1e5, 0, "bar absolute"],
  },
  pressure_difference: {
    psi: [PSI, 0, "psi"], ftH2O: [FOOT_OF_WATER, 0, "ft of water"], inH2O: [INCH_OF_WATER, 0, "in of water"],
    kPa: [1e3, 0, "kPa"], bar: [1e5, 0, "bar"],
  },
  water_flow: {
    gpm: [GPM, 0, "US gpm"], "L/s": [1e-3, 0, "L/s"], "L/min": [1e-3 / 60, 0, "L/min"], "m**3/h": [1 / 3600, 0, "m³/h"],
  },
  power: { kW: [1e3, 0, "kW"], W: [1, 0, "W"] },
};
// Other spellings that mean one thing only, in small letters: diagnostics/engine/spellings.py has the same.
export const ALSO = {
  gpm: "gpm", usgpm: "gpm", "us gpm": "gpm", "l/s": "L/s", lps: "L/s", "l/min": "L/min", lpm: "L/min",
  "m3/h": "m**3/h", "m^3/h": "m**3/h", "m³/h": "m**3/h", psig: "psig", psia: "psia", psi_gauge: "psig", psi_abs: "psia",
  kpag: "kPa_gauge", kpaa: "kPa_abs", barg: "bar_gauge", bara: "bar_abs", kw: "kW",
  "°f": "degF", "°c": "degC", degf: "degF", degc: "degC",
};
const known = (kind, unit) => KIND[kind]?.[unit] ?? KIND[kind]?.[ALSO[String(unit).trim().toLowerCase()]];

export const barometric = (elevation) => 101325 * (1 - 2.25577e-5 * (elevation || 0)) ** 5.2559;

export function toSi(value, kind, unit, elevation) {
  const how = known(kind, unit);
  if (value === null || !how) return null;
  return value * how[0] + how[1] + (how[3] ? barometric(elevation) : 0);
}

export function fromSi(si, kind, unit, elevation) {
  const how = known(kind, unit);
  return (si - how[1] - (how[3] ? barometric(elevation) : 0)) / how[0];
}
