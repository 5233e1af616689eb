// Answers with the phone's table of other spellings, its units by kind, and what 10 of each spelling are in SI.
const { ALSO, KIND, toSi } = await import(process.argv[2]);
const si = {};
for (const kind of Object.keys(KIND)) for (const spelling of Object.keys(ALSO)) for (const typed of [spelling, spelling.toUpperCase()]) {
  const value = toSi(10, kind, typed, 0);
  if (value !== null) si[`${kind}|${typed}`] = value;
}
const units = Object.values(KIND).flatMap((each) => Object.keys(each));
console.log(JSON.stringify({ also: ALSO, units, si }));
