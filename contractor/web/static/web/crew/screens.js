// Screens one at a time; the address says which: #tank, or #checks/hold_test. Steps come with a screen that has them.

const screens = [...document.querySelectorAll("[data-screen]")];

async function turn(first) {
  const [wanted, step] = location.hash.slice(1).split("/");
  const shown = screens.find((one) => one.id === wanted) || screens.find((one) => one.id === first);
  for (const one of screens) one.hidden = one !== shown;
  for (const link of document.querySelectorAll(".screens a")) {
    if (link.hash === `#${shown.id}`) link.setAttribute("aria-current", "step"); else link.removeAttribute("aria-current");
  }
  if (shown.querySelector(".steps > li")) (await import("./steps.js")).turnStep(shown, step);
  return shown;
}

// By the address from now on; the heading of the step is where reading goes on.
export function follow(first) {
  turn(first);
  addEventListener("hashchange", async () => {
    const shown = await turn(first);
    scrollTo(0, 0);
    if (location.hash.includes("/")) shown.querySelector(".steps > li:not([hidden]) h3")?.focus({ preventScroll: true });
  });
}
