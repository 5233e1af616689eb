// Reversing is offered where the hoses' check told of the vent; else that it was reversed can be told all the same.
export function mayReverse(vented) {
  const offered = document.querySelector("[data-reversing]");
  offered.open = vented;
  offered.querySelector("summary").textContent = vented ? offered.dataset.vented : offered.dataset.unvented;
}
