// A number as typed, or null: one decimal comma is a decimal point, unless three digits follow it.
export function number(text) {
  const plain = String(text ?? "").replace(/[ \u00a0\u2009\u202f]/g, "").replace(/[\u2212\u2013]/g, "-");
  const comma = /^[+-]?\d*,\d+$/.test(plain) && plain.split(",")[1].length !== 3;
  const digits = comma ? plain.replace(",", ".") : plain;
  return /^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$/.test(digits) && isFinite(Number(digits)) ? Number(digits) : null;
}
