// Links that stay within the visit one came from.

import { visit } from "./forms.js";

for (const link of visit ? document.querySelectorAll("[data-with-visit]") : []) link.search = `?visit=${visit}`;
for (const place of visit ? document.querySelectorAll("[data-visit-link]") : []) {
  place.hidden = false;
  place.querySelector("a").href = `/crew/visits/${visit}/`;
}
