// A signature drawn with a finger, for those who do not type their name instead: as a picture, or as strokes of points in shares of width and height. A field of the
// form holds the strokes, so that they are kept with the rest and drawn again when the page comes back.

export function drawing(pad) {
  const pen = pad.getContext("2d"), held = pad.closest(".field").querySelector("input");
  let strokes = [], last = null;
  Object.assign(pen, { lineWidth: 4, lineCap: "round", strokeStyle: "#111" });
  const clear = () => { pen.fillStyle = "#fff"; pen.fillRect(0, 0, pad.width, pad.height); strokes = []; };
  const hold = () => {
    held.value = strokes.length ? JSON.stringify(strokes) : "";
    held.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const share = (part, whole) => Math.round(Math.min(Math.max(part / whole, 0), 1) * 1e4) / 1e4;
  const at = (event) => {
    const box = pad.getBoundingClientRect();
    return [share(event.clientX - box.left, box.width), share(event.clientY - box.top, box.height)];
  };
  const spot = ([x, y]) => [x * pad.width, y * pad.height];
  const line = (from, to) => { pen.beginPath(); pen.moveTo(...spot(from)); pen.lineTo(...spot(to)); pen.stroke(); };
  pad.addEventListener("pointerdown", (event) => { pad.setPointerCapture(event.pointerId); last = at(event); strokes.push([last]); });
  pad.addEventListener("pointermove", (event) => {
    if (!last) return;
    const to = at(event);
    line(last, to);
    last = to;
    strokes.at(-1).push(to);
  });
  const lift = () => { if (last) hold(); last = null; };
  pad.addEventListener("pointerup", lift);
  pad.addEventListener("pointercancel", lift);
  const again = () => {
    clear();
    strokes = held.value ? JSON.parse(held.value) : [];
    for (const stroke of strokes) stroke.slice(1).forEach((to, n) => line(stroke[n], to));
  };
  document.getElementById("pad-clear").addEventListener("click", () => { clear(); hold(); });
  pad.closest("form").addEventListener("restored", again);
  const wipe = () => { clear(); held.value = ""; };
  again();
  const drawn = () => strokes.filter((stroke) => stroke.length > 1);
  return { wipe, strokes: drawn, picture: () => (drawn().length ? bytesOf(pad.toDataURL("image/png")) : null) };
}

function bytesOf(address) {
  const text = atob(address.split(",")[1]), bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i += 1) bytes[i] = text.charCodeAt(i);
  return bytes.buffer;
}
