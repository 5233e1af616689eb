// A signature drawn with a finger: as a picture, or as strokes of points in shares of width and height.

export function drawing(pad) {
  const pen = pad.getContext("2d");
  let strokes = [], last = null;
  Object.assign(pen, { lineWidth: 4, lineCap: "round", strokeStyle: "#111" });
  const wipe = () => { pen.fillStyle = "#fff"; pen.fillRect(0, 0, pad.width, pad.height); strokes = []; };
  const share = (part, whole) => Math.round(Math.min(Math.max(part / whole, 0), 1) * 1e4) / 1e4;
  const at = (event) => {
    const box = pad.getBoundingClientRect();
    return [share(event.clientX - box.left, box.width), share(event.clientY - box.top, box.height)];
  };
  const spot = ([x, y]) => [x * pad.width, y * pad.height];
  pad.addEventListener("pointerdown", (event) => { pad.setPointerCapture(event.pointerId); last = at(event); strokes.push([last]); });
  pad.addEventListener("pointermove", (event) => {
    if (!last) return;
    const to = at(event);
    pen.beginPath(); pen.moveTo(...spot(last)); pen.lineTo(...spot(to)); pen.stroke();
    last = to;
    strokes.at(-1).push(to);
  });
  const lift = () => { last = null; };
  pad.addEventListener("pointerup", lift);
  pad.addEventListener("pointercancel", lift);
  document.getElementById("pad-clear").addEventListener("click", wipe);
  wipe();
  const drawn = () => strokes.filter((stroke) => stroke.length > 1);
  return { wipe, strokes: drawn, picture: () => (drawn().length ? bytesOf(pad.toDataURL("image/png")) : null) };
}

function bytesOf(address) {
  const text = atob(address.split(",")[1]), bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i += 1) bytes[i] = text.charCodeAt(i);
  return bytes.buffer;
}
