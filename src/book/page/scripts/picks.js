// One wire, pin or part is picked: it is marked in every drawing and list, and the bar at the foot leads from place to place.

const picks = (() => {
  let found = [];
  let place = -1;
  const bar = element("div", { id: "picked", role: "status", hidden: "" });
  const line = element("span", { class: "line" });
  const button = (text, label, run) => {
    const made = element("button", { type: "button", "aria-label": label }, text);
    made.addEventListener("click", run);
    return made;
  };
  bar.append(
    line,
    button("‹", "Place before", () => step(-1)),
    button("›", "Next place", () => step(1)),
    button("×", "Unmark", () => clear()),
  );

  /** The section, or the drawing, that a place is in. */
  function where(node) {
    const drawing = node.closest("figure.drawing");
    const head = drawing ? drawing.querySelector("figcaption .strong") : node.closest("main > section").querySelector("h2");
    return names.words(head).replace(/^\d+/, "");
  }

  function show() {
    const at = place < 0 ? `${found.length} ${found.length === 1 ? "place" : "places"}` : `${place + 1} of ${found.length}, ${where(found[place])}`;
    line.lastChild.textContent = " · " + at;
  }

  function clear() {
    found.forEach(node => node.classList.remove("picked", "here"));
    [found, place] = [[], -1];
    bar.hidden = true;
    if (location.hash.includes("=")) history.replaceState(null, "", location.pathname + location.search);
  }

  /** Marks a name. Its description comes from the index. */
  function pick(kind, name, describe) {
    clear();
    found = names.places(kind, name);
    if (!found.length) return false;
    found.forEach(node => node.classList.add("picked"));
    line.replaceChildren(element("b", {}, `${kind} ${name}`), ` ${describe || ""}`, "");
    bar.hidden = false;
    history.replaceState(null, "", `#${kind}=${encodeURIComponent(name)}`);
    show();
    return true;
  }

  /** Goes to the next place, round from the last to the first. */
  function step(by) {
    if (!found.length) return;
    if (place >= 0) found[place].classList.remove("here");
    place = (place + by + found.length + (place < 0 && by < 0 ? 1 : 0)) % found.length;
    const node = found[place];
    node.classList.add("here");
    node.scrollIntoView({ block: "center", inline: "center" });
    if (!node.hasAttribute("tabindex")) node.setAttribute("tabindex", "-1");
    node.focus({ preventScroll: true });
    show();
  }

  return { bar, pick, step, clear };
})();
