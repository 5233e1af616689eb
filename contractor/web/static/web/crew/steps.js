// The steps of a screen, one at a time: the first open one, or the one the address names.

const over = (step) => ["passed", "done", "not_needed", "left_open"].includes(step.dataset.done);
const plain = (word) => word[0].toUpperCase() + word.slice(1).replaceAll("_", " ");
const stepsOf = (screen) => [...screen.querySelectorAll(".steps > li")];

// What should have come before a step and has not: told at the step, recorded all the same.
function tellOrder(step, steps) {
  const told = step.querySelector("[data-first]");
  if (!told) return;
  const waits = [...told.querySelectorAll("[data-before]")].filter((one) => {
    const before = steps.find((other) => other.dataset.step === one.dataset.before);
    one.hidden = !before || over(before);
    return !one.hidden;
  });
  told.hidden = over(step) || !waits.length;
}

export function turnStep(screen, wanted, first = "") {
  const steps = stepsOf(screen), open = steps.filter((step) => !over(step));
  const shown = steps.find((step) => step.dataset.step === wanted) || open[0] || steps.at(-1), at = steps.indexOf(shown);
  for (const step of steps) step.hidden = step !== shown;
  const line = shown.querySelector("h3 + p"), outcome = shown.dataset.done || "";
  if (outcome && line.textContent.trim() === "Open") line.textContent = plain(outcome);
  tellOrder(shown, steps);
  const words = `Step ${at + 1} of ${steps.length}, ${open.length ? `${open.length} open` : "none open"}`;
  screen.querySelector("[data-count]").textContent = first + words;
  for (const [name, to] of [["back", at - 1], ["next", at + 1]]) {
    const button = screen.querySelector(`[data-${name}]`);
    const then = name === "next" && !steps[to] && !open.length ? screen.dataset.then : "";
    button.disabled = !steps[to] && !then;
    button.onclick = () => location.replace(then || `#${screen.id}/${steps[to].dataset.step}`);
  }
  screen.querySelectorAll(".all-steps a").forEach((link, n) => {
    link.dataset.done = steps[n].dataset.done || "";
    if (n === at) link.setAttribute("aria-current", "step"); else link.removeAttribute("aria-current");
  });
}

// A step was recorded: on to the next where it went well. Who has gone to another screen meanwhile stays there.
export function recorded(step, outcome) {
  step.dataset.done = outcome;
  const screen = step.closest("[data-screen]"), next = step.nextElementSibling;
  const to = (over(step) && next ? next : step).dataset.step;
  const seen = location.hash.slice(1).split("/")[0] || screen.id;
  if (seen === screen.id) history.replaceState(null, "", `#${screen.id}/${to}`);
  turnStep(screen, to, over(step) ? "Kept on this phone. " : "");
}
