// A look's photo is a finding of the visit with its time. It goes after the look, which waits for nothing.

import { id, visit } from "./forms.js";
import { hours } from "./moments.js";

export function posts({ at: found_at, id: taken }, draft, facts) {
  const finding = id(draft, "photo");
  const body = { id: finding, visit, unit: facts.unit, exchanger: facts.exchanger, kind: "photo", note: `of the bath, look of ${hours(found_at)}`, found_at };
  return [
    { what: `Photo of the bath: ${facts.tag}`, path: "/api/v1/findings/", body, makes: finding, needs: [visit] },
    { what: `Photo of ${facts.tag}`, path: `/api/v1/findings/${finding}/photo/`, photo: draft.photo, needs: [visit, finding] },
    { what: `Photo to its look: ${facts.tag}`, path: `/api/v1/descales/${facts.descale}/look-photo/`, body: { look: taken, photo: finding }, needs: [taken, finding] },
  ];
}
