// A picture to mark: moved and zoomed by pointer, finger and keys. It is held by this page alone: nothing of it is sent or stored.

import { el, within } from "./dom.js";
import { snap } from "./edge.js";

/** A picture beyond this is made smaller: browsers on phones hold no more. */
const MOST = 4096;
/** Screen pixels: how far a touch may miss a mark that it means, how far one may move and still be a touch, how far an edge is looked for. */
const NEAR = 14;
const STILL = 6;
const REACH = 8;
/** One σ of a mark, screen pixels, and at least so many of the picture's. */
const MISS = 1.2;
const LEAST = 0.8;
const KEYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** Reads a file into a canvas of at most `MOST` pixels a side. */
async function read(file) {
  const bitmap = await createImageBitmap(file);
  const by = Math.min(1, MOST / Math.max(bitmap.width, bitmap.height));
  const held = el("canvas", { width: Math.round(bitmap.width * by), height: Math.round(bitmap.height * by) });
  const context = held.getContext("2d", { willReadFrequently: true });
  context.drawImage(bitmap, 0, 0, held.width, held.height);
  bitmap.close();
  return { held, context };
}

/**
 * The picture with its marks. `lists` has each list's points; `current` gives the one that is marked now: its key, points, how many at most, whether
 * it follows an edge and from where; `changed` hears of every change, `aloud` of what to say.
 */
export async function picture(file, { lists, current, changed, aloud }) {
  const { held, context } = await read(file);
  const view = el("canvas", { class: "picture-view" });
  const place = el("div", {
    class: "picture-place",
    tabindex: 0,
    role: "application",
    "aria-roledescription": "picture to mark",
    "aria-label": "The picture. Arrow keys move the cross-hair, with Shift ten times; Enter marks, Backspace takes the nearest mark away, plus and minus zoom.",
  }, view);
  const state = { x: held.width / 2, y: held.height / 2, scale: 0, cross: { x: held.width / 2, y: held.height / 2 }, snapping: true, runs: [] };
  const fit = () => Math.min(place.clientWidth / held.width, place.clientHeight / held.height);
  const seen = ({ x, y }) => ({ x: (x - state.x) * state.scale + place.clientWidth / 2, y: (y - state.y) * state.scale + place.clientHeight / 2 });
  const meant = (x, y) => ({ x: (x - place.clientWidth / 2) / state.scale + state.x, y: (y - place.clientHeight / 2) / state.scale + state.y });

  function draw() {
    if (!place.isConnected || !place.clientWidth) return;
    const dots = devicePixelRatio || 1;
    [view.width, view.height] = [Math.round(place.clientWidth * dots), Math.round(place.clientHeight * dots)];
    if (!state.scale) state.scale = fit();
    const pen = view.getContext("2d");
    pen.scale(dots, dots);
    const corner = seen({ x: 0, y: 0 });
    pen.imageSmoothingEnabled = state.scale < 2;
    pen.drawImage(held, corner.x, corner.y, held.width * state.scale, held.height * state.scale);
    // Once it is told what they tell, marks give way to it.
    const isTold = state.runs.length > 0;
    for (const list of lists()) list.points.forEach((point, k) => (isTold ? dot(pen, seen(point)) : mark(pen, seen(point), list, k)));
    for (const run of state.runs) line(pen, run);
    for (const run of state.runs) name(pen, run);
    cross(pen, seen(state.cross));
  }

  /** Light under dark, so that it shows on any picture; kinds differ by their dashes, not by colour alone. */
  function line(pen, { what, points }) {
    const style = { edge: [1.5, []], stiff: [9, []], weak: [9, [4, 5]], take: [4, [14, 4]] }[what];
    const path = new Path2D();
    const lift = what === "take" ? 12 : 0;
    points.forEach(([x, y], k) => {
      const at = seen({ x, y });
      if (k) path.lineTo(at.x, at.y + lift);
      else path.moveTo(at.x, at.y + lift);
    });
    pen.setLineDash(style[1]);
    for (const [more, ink] of [[3, "#fff"], [0, { edge: "#221e18", stiff: "#87470f", weak: "#97190f", take: "#221e18" }[what]]]) {
      pen.lineWidth = style[0] + more;
      pen.strokeStyle = ink;
      pen.globalAlpha = what === "edge" ? 0.8 : 0.75;
      pen.stroke(path);
    }
    pen.globalAlpha = 1;
    pen.setLineDash([]);
  }

  function name(pen, { what, points }) {
    const words = { stiff: "stiff", weak: "bends too much", take: "take off" }[what];
    const middle = points[Math.floor(points.length / 2)];
    if (!words || !middle) return;
    const { x, y } = seen({ x: middle[0], y: middle[1] });
    pen.textAlign = "center";
    write(pen, words, x, what === "take" ? y + 34 : y - 14, 14);
    pen.textAlign = "start";
  }

  function write(pen, words, x, y, size) {
    pen.font = `600 ${size}px system-ui, sans-serif`;
    pen.lineWidth = 3;
    pen.lineJoin = "round";
    pen.strokeStyle = "#fff";
    pen.fillStyle = "#221e18";
    pen.strokeText(words, x, y);
    pen.fillText(words, x, y);
  }

  function dot(pen, { x, y }) {
    pen.fillStyle = "#fff";
    pen.strokeStyle = "#221e18";
    pen.lineWidth = 1;
    pen.beginPath();
    pen.arc(x, y, 2.5, 0, 2 * Math.PI);
    pen.fill();
    pen.stroke();
  }

  function mark(pen, { x, y }, list, k) {
    const isNow = list.key === current().key;
    for (const [width, ink] of [[4, "#fff"], [2, isNow ? "#87470f" : "#221e18"]]) {
      pen.lineWidth = width;
      pen.strokeStyle = ink;
      pen.beginPath();
      pen.arc(x, y, 6, 0, 2 * Math.PI);
      pen.moveTo(x - 2, y);
      pen.lineTo(x + 2, y);
      pen.stroke();
    }
    if (!isNow && list.points.length > 4) return;
    write(pen, `${list.short}${list.most > 1 ? k + 1 : ""}`, x + 9, y - 7, 12);
  }

  function cross(pen, { x, y }) {
    for (const [width, ink] of [[4, "#fff"], [1.5, "#221e18"]]) {
      pen.lineWidth = width;
      pen.strokeStyle = ink;
      pen.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        pen.moveTo(x + 7 * dx, y + 7 * dy);
        pen.lineTo(x + 22 * dx, y + 22 * dy);
      }
      pen.stroke();
    }
  }

  function zoom(by, about = { x: place.clientWidth / 2, y: place.clientHeight / 2 }) {
    const there = meant(about.x, about.y);
    state.scale = within(state.scale * by, 0.8 * fit(), 12);
    const now = meant(about.x, about.y);
    move(there.x - now.x, there.y - now.y);
  }

  function move(dx, dy) {
    state.x = within(state.x + dx, 0, held.width);
    state.y = within(state.y + dy, 0, held.height);
    draw();
  }

  const nearest = (at) => {
    let found = null;
    current().points.forEach((point, k) => {
      const off = Math.hypot(point.x - at.x, point.y - at.y) * state.scale;
      if (off <= NEAR && (!found || off < found.off)) found = { k, off };
    });
    return found;
  };

  /** The edge near a mark, where its list follows one. */
  function snapped(at, list) {
    if (!state.snapping || !list.edge) return null;
    const before = list.points.filter((point) => Math.hypot(point.x - at.x, point.y - at.y) > 4).at(-1) ?? list.edge;
    if (!before) return null;
    const reach = within(REACH / state.scale, 4, 40);
    const room = Math.ceil(reach) + 8;
    const [left, top] = [Math.max(0, Math.floor(at.x) - room), Math.max(0, Math.floor(at.y) - room)];
    const pixels = context.getImageData(left, top, Math.min(2 * room, held.width - left), Math.min(2 * room, held.height - top));
    return snap(pixels, { left, top }, at, { x: at.x - before.x, y: at.y - before.y }, reach);
  }

  function put(at, instead) {
    const list = current();
    const inside = { x: within(at.x, 0, held.width), y: within(at.y, 0, held.height) };
    const edge = snapped(inside, list);
    const point = { ...(edge ?? inside), miss: Math.max(LEAST, edge ? LEAST : MISS / state.scale), snapped: edge !== null };
    state.cross = { x: point.x, y: point.y };
    if (instead !== undefined) list.points[instead] = point;
    else if (list.points.length < list.most) list.points.push(point);
    else return aloud(`${list.words}: all ${list.most} are marked. Take one away to mark it anew.`);
    state.runs = [];
    aloud(`${list.words}, ${(instead ?? list.points.length - 1) + 1}: ${Math.round(point.x)}, ${Math.round(point.y)}${edge ? ", on the edge" : ""}`);
    changed();
    draw();
  }

  function take(k) {
    const list = current();
    if (k < 0 || !list.points[k]) return;
    list.points.splice(k, 1);
    state.runs = [];
    aloud(`${list.words}: one taken away, ${list.points.length} left`);
    changed();
    draw();
  }

  place.addEventListener("keydown", (event) => {
    const way = KEYS[event.key];
    const by = (event.shiftKey ? 10 : 1) / Math.max(state.scale, 0.25);
    if (way) {
      state.cross = { x: within(state.cross.x + way[0] * by, 0, held.width), y: within(state.cross.y + way[1] * by, 0, held.height) };
      const at = seen(state.cross);
      const out = (value, most) => (value < 30 ? value - 30 : value > most - 30 ? value - most + 30 : 0);
      move(out(at.x, place.clientWidth) / state.scale, out(at.y, place.clientHeight) / state.scale);
      aloud(`${Math.round(state.cross.x)}, ${Math.round(state.cross.y)}`);
    } else if (event.key === "Enter" || event.key === " ") put(state.cross, nearest(state.cross)?.k);
    else if (event.key === "Backspace" || event.key === "Delete") take(nearest(state.cross)?.k ?? current().points.length - 1);
    else if (event.key === "+" || event.key === "=") zoom(1.5, seen(state.cross));
    else if (event.key === "-") zoom(1 / 1.5, seen(state.cross));
    else return;
    event.preventDefault();
  });

  // Fingers and pointers: one moves the picture or takes hold of a mark, two zoom, a touch marks.
  const down = new Map();
  let apart = 0;
  let hold = null;
  const local = (event) => {
    const box = place.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };
  place.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    event.preventDefault();
    place.focus({ preventScroll: true });
    place.setPointerCapture(event.pointerId);
    const at = local(event);
    down.set(event.pointerId, { start: at, at });
    hold = down.size === 1 ? { k: nearest(meant(at.x, at.y))?.k, moved: false } : null;
    if (down.size === 2) apart = distance();
  });
  const distance = () => {
    const [a, b] = [...down.values()];
    return Math.hypot(a.at.x - b.at.x, a.at.y - b.at.y);
  };
  place.addEventListener("pointermove", (event) => {
    const finger = down.get(event.pointerId);
    if (!finger) return;
    const at = local(event);
    const by = { x: at.x - finger.at.x, y: at.y - finger.at.y };
    finger.at = at;
    if (down.size === 2) {
      const [a, b] = [...down.values()];
      const now = distance();
      if (apart > 0) zoom(now / apart, { x: (a.at.x + b.at.x) / 2, y: (a.at.y + b.at.y) / 2 });
      apart = now;
      return;
    }
    if (!hold) return;
    if (!hold.moved && Math.hypot(at.x - finger.start.x, at.y - finger.start.y) <= STILL) return;
    hold.moved = true;
    if (hold.k === undefined) move(-by.x / state.scale, -by.y / state.scale);
    else {
      const point = current().points[hold.k];
      Object.assign(point, { x: within(point.x + by.x / state.scale, 0, held.width), y: within(point.y + by.y / state.scale, 0, held.height), snapped: false });
      draw();
    }
  });
  const up = (event, isDone) => {
    const finger = down.get(event.pointerId);
    if (!finger) return;
    down.delete(event.pointerId);
    const last = hold;
    hold = null;
    if (!isDone || !last) return;
    if (last.moved && last.k !== undefined) put(current().points[last.k], last.k);
    else if (!last.moved && last.k === undefined) put(meant(finger.at.x, finger.at.y));
    else if (!last.moved) {
      const { x, y } = current().points[last.k];
      state.cross = { x, y };
      draw();
    }
  };
  place.addEventListener("pointerup", (event) => up(event, true));
  place.addEventListener("pointercancel", (event) => up(event, false));
  place.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY / 400), local(event));
  }, { passive: false });
  new ResizeObserver(draw).observe(place);

  return {
    place,
    size: [held.width, held.height],
    draw,
    zoom,
    take: () => take(current().points.length - 1),
    snapping(on) {
      state.snapping = on;
    },
    /** Lines over the picture, until a mark moves. */
    show(runs) {
      state.runs = runs;
      draw();
    },
    /** All of the picture. */
    whole() {
      Object.assign(state, { x: held.width / 2, y: held.height / 2, scale: fit() });
      draw();
    },
    /** Brings a place into the middle. */
    look(at) {
      state.cross = { x: at.x, y: at.y };
      state.scale = Math.max(state.scale, 3 * fit());
      [state.x, state.y] = [at.x, at.y];
      draw();
    },
  };
}
