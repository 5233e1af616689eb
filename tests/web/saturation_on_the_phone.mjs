// Reads cases as JSON on standard input, answers with what the phone's script makes of them.
import { readFileSync } from "node:fs";

const [, , physicsPath] = process.argv;
const { lines, told, toSi, number, converted, barometric } = await import(physicsPath);
const asked = JSON.parse(readFileSync(0, "utf8"));
const answers = asked.map((one) => {
  if (one.typed) {
    const si = {};
    for (const [name, [text, kind, unit]] of Object.entries(one.typed)) si[name] = toSi(number(text), kind, unit, one.elevation_m);
    const table = one.table ? lines(JSON.parse(readFileSync(one.table, "utf8"))) : null;
    return { si, told: told(si, one.mode, table, one.design), barometric: barometric(one.elevation_m) };
  }
  return one.number !== undefined ? number(one.number) : converted(...one.converted);
});
console.log(JSON.stringify(answers));
