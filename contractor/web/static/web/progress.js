// Follows background work that this page waits for, and shows the page anew once it is over.
const EVERY_MS = 1500;
const marks = [...document.querySelectorAll("[data-work]")];

async function look(mark) {
  const answer = await fetch(`/api/v1/work-items/${mark.dataset.work}/`, { headers: { Accept: "application/json" } });
  if (!answer.ok) return false;
  const work = await answer.json();
  const words = work.progress?.words;
  if (words) mark.querySelector("span:last-child").textContent = words;
  return work.state === "done" || work.state === "failed";
}

async function follow() {
  const over = await Promise.all(marks.map((mark) => look(mark).catch(() => false)));
  if (over.some(Boolean)) location.reload();
  else setTimeout(follow, EVERY_MS);
}

if (marks.length) setTimeout(follow, EVERY_MS);
