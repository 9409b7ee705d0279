// A drawing over the whole window: wheel, pinch, keys and buttons zoom, dragging moves it.

const enlarge = (() => {
  const MOST = 12;
  /** Pixels from which a movement is a drag. */
  const DRAG = 6;
  const box = element("dialog", { id: "enlarged", "aria-label": "Enlarged drawing" });
  const room = element("div", { class: "room" });
  const bar = element("div", { class: "buttons" });
  const button = (text, label, run) => {
    const made = element("button", { type: "button", "aria-label": label }, text);
    made.addEventListener("click", run);
    bar.append(made);
  };
  let [drawing, home, full, part] = [null, null, null, null];
  button("+", "Larger", () => zoom(1.5));
  button("−", "Smaller", () => zoom(1 / 1.5));
  button("Whole", "Whole sheet", () => view(full));
  button("Close", "Close", () => box.close());
  box.append(bar, room);

  function view(next) {
    part = { ...next };
    drawing.setAttribute("viewBox", `${part.x} ${part.y} ${part.width} ${part.height}`);
  }

  /** Zooms by a factor about a point of the sheet, its middle without one. */
  function zoom(by, about) {
    const width = Math.min(full.width, Math.max(full.width / MOST, part.width / by));
    const share = width / part.width;
    const point = about || { x: part.x + part.width / 2, y: part.y + part.height / 2 };
    view({
      x: point.x - (point.x - part.x) * share,
      y: point.y - (point.y - part.y) * share,
      width,
      height: part.height * share,
    });
  }

  function point(event) {
    const to = drawing.getScreenCTM().inverse();
    return new DOMPoint(event.clientX, event.clientY).matrixTransform(to);
  }

  const fingers = new Map();
  let apart = 0;
  let moved = 0;
  const spread = () => {
    const [a, b] = [...fingers.values()];
    return Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
  };
  room.addEventListener("wheel", event => {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY / 400), point(event));
  }, { passive: false });
  room.addEventListener("pointerdown", event => {
    fingers.set(event.pointerId, event);
    moved = 0;
    if (fingers.size === 2) apart = spread();
  });
  room.addEventListener("pointermove", event => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    moved += Math.hypot(event.clientX - before.clientX, event.clientY - before.clientY);
    if (fingers.size === 1) {
      const [from, to] = [point(before), point(event)];
      view({ ...part, x: part.x + from.x - to.x, y: part.y + from.y - to.y });
    }
    fingers.set(event.pointerId, event);
    if (fingers.size === 2) {
      const now = spread();
      zoom(now / apart, point(event));
      apart = now;
    }
  });
  for (const end of ["pointerup", "pointercancel", "pointerleave"]) {
    room.addEventListener(end, event => fingers.delete(event.pointerId));
  }
  // The end of a drag is no tap.
  room.addEventListener("click", event => {
    if (moved > DRAG) event.stopPropagation();
  }, { capture: true });
  box.addEventListener("keydown", event => {
    const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const move = moves[event.key];
    if (move) view({ ...part, x: part.x + move[0] * part.width / 8, y: part.y + move[1] * part.height / 8 });
    else if (event.key === "+") zoom(1.5);
    else if (event.key === "-") zoom(1 / 1.5);
    else return;
    event.preventDefault();
  });
  box.addEventListener("close", () => {
    view(full);
    home.append(drawing);
    document.body.append(picks.bar);
    fingers.clear();
  });

  function open(figure) {
    home = figure.querySelector(".wide");
    drawing = home.querySelector("svg");
    const [x, y, width, height] = drawing.getAttribute("viewBox").split(" ").map(Number);
    full = { x, y, width, height };
    room.append(drawing);
    // Inside the figure, its names still belong to it.
    figure.append(box);
    box.append(picks.bar);
    view(full);
    box.showModal();
  }

  function start() {
    document.querySelectorAll("figure.drawing").forEach(figure => {
      const caption = figure.querySelector("figcaption");
      const made = element("button", { type: "button", class: "enlarge" }, "Enlarge");
      made.addEventListener("click", () => open(figure));
      caption.append(made);
    });
  }

  return { start };
})();
