// A state is chosen, and every drawing shows its wires in it: dashed and grey without voltage, thin and black with voltage
// alone, thin in colours with a trickle or a picture, as drawn with a load.

const live = (() => {
  const chooser = element("select", { id: "state", "aria-label": "State that the drawings show" });
  const wires = JSON.parse(document.getElementById("live-states").textContent);
  let say = null;
  let state = -1;

  const rows = () => [...document.querySelectorAll("section[aria-labelledby=states] tbody tr")];

  /** What a wire carries in the chosen state: how live it is, then in words. */
  function inState(name) {
    const [seen, signs] = wires[name] || [];
    if (state < 0 || !seen) return "";
    const code = signs.charCodeAt(state);
    return seen[code < 0x100 ? code - 97 : code - 0x100 + 26];
  }

  /** The same in words alone. */
  function reading({ kind, name }) {
    return kind === "wire" ? inState(name).slice(2) : "";
  }

  function show() {
    state = Number(chooser.value);
    document.querySelectorAll("main svg").forEach(drawing => {
      // A live drawing keeps its own state.
      if (drawing.closest("[id$=-live]")) return;
      drawing.querySelectorAll("[data-wire]").forEach(line => {
        const carried = inState(line.dataset.wire);
        if (carried) line.dataset.live = carried[0];
        else delete line.dataset.live;
      });
    });
    const row = rows()[state];
    const heads = [...document.querySelectorAll("section[aria-labelledby=states] thead th")].map(names.words);
    const cells = row ? [...row.cells].map(names.words) : [];
    const shown = cells.flatMap((cell, i) => (i && /shows$|^Relays in$/.test(heads[i]) ? [`${heads[i]} ${cell || "none"}`] : []));
    say(row ? `${cells[0]}: ${shown.join(", ")}. Dashed: no voltage; thin black: voltage, no current; thin in colours: below 10 mA, or a picture; as drawn: a load.` : "");
  }

  function start(tell) {
    say = tell;
    chooser.append(element("option", { value: "-1" }, "State: as drawn"));
    rows().forEach((row, i) => chooser.append(element("option", { value: String(i) }, names.words(row.cells[0]))));
    chooser.hidden = chooser.options.length < 2;
    chooser.addEventListener("change", show);
  }

  return { chooser, start, reading };
})();
