// A key for the minus that a phone's number pad lacks: at temperatures in degrees Celsius, where it is needed.

export function minusKeys(fields, unitOf) {
  const keys = [...fields].filter((field) => field.dataset.kind === "temperature").map((field) => {
    const label = field.labels[0]?.textContent.trim().toLowerCase() || "";
    const key = Object.assign(document.createElement("button"), { type: "button", className: "second minus", textContent: "\u00b1" });
    key.setAttribute("aria-label", `Above or below zero: ${label}`);
    key.addEventListener("click", () => {
      const text = field.value.trim().replace(/[\u2212\u2013]/g, "-");
      field.value = text.startsWith("-") ? text.slice(1) : `-${text}`;
      field.dispatchEvent(new Event("input", { bubbles: true }));
      field.focus();
    });
    field.after(key);
    return [field, key];
  });
  const show = () => keys.forEach(([field, key]) => { key.hidden = unitOf(field) !== "degC"; });
  show();
  return show;
}
