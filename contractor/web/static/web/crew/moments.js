// Times of day as they are shown and as they are typed.

export const hours = (at) => new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

// A time of day that has been: today's, or yesterday's where today's is still to come.
export function momentOf(text) {
  const [hour, minute] = text.split(":").map(Number), found = new Date();
  found.setHours(hour, minute, 0, 0);
  if (found > Date.now()) found.setDate(found.getDate() - 1);
  return found.toISOString();
}
