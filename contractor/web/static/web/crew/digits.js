// A number as its reader writes it: with a decimal comma where the page says so.

const comma = globalThis.document?.querySelector("meta[name=person]")?.dataset.mark === "comma";
export const digits = (value, behind) => (comma ? value.toFixed(behind).replace(".", ",") : value.toFixed(behind));
