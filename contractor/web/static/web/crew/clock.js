// Says that this phone's clock is off, by minutes ahead of the service's.

export function tell(ahead) {
  const out = document.getElementById("clock-off"), off = Math.abs(ahead);
  const by = off < 120 ? `${off} min` : `${Math.round(off / 60)} h`;
  out.textContent = `This phone's clock is ${by} ${ahead > 0 ? "fast" : "slow"}: set it, for readings are filed by it.`;
  out.hidden = false;
}
