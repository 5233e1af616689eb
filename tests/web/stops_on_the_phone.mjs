// Reads cases as JSON on standard input, answers with the codes of the phone's stop rules.
import { readFileSync } from "node:fs";

const { stops, nextLook, clock } = await import(process.argv[2]);
const answer = (one) => (one.clock !== undefined ? clock(one.clock)
  : one.due ? nextLook(one.batch, one.looks) - Date.parse(one.batch.at)
    : stops(one.limits, one.batch, one.looks, Date.parse(one.now), one.earlier).map((each) => each.code));
console.log(JSON.stringify(JSON.parse(readFileSync(0, "utf8")).map(answer)));
