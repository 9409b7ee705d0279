// What the book names: wires, pins and parts, with the words by which they are found, and the places where they stand.

const names = (() => {
  const words = node => (node ? node.textContent.replace(/\s+/g, " ").trim() : "");

  /** Every name once: its kind, itself, a line that describes it, and all text to search in. */
  function index() {
    const all = new Map();
    const add = (kind, name, line) => {
      const key = kind + " " + name;
      const known = all.get(key);
      if (known) known.text += " " + line.toLowerCase();
      else all.set(key, { kind, name, line, text: (key + " " + line).toLowerCase() });
    };
    document.querySelectorAll("table.all tbody tr[data-wire]").forEach(row => {
      const cells = [...row.cells].map(words);
      const colour = row.querySelector("abbr");
      const line = `${cells[1]} ${cells[2]}, ${cells[3]} to ${cells[4]}`;
      add("wire", row.dataset.wire, line);
      add("wire", row.dataset.wire, `${colour ? colour.title : ""} ${cells.slice(5).join(" ")}`);
    });
    document.querySelectorAll("main article[data-part], main tr[data-part]").forEach(unit => {
      const head = words(unit.querySelector("h3")) || [...unit.cells].map(words).join(", ");
      add("part", unit.dataset.part, head.replace(unit.dataset.part, "").trim());
      add("part", unit.dataset.part, words(unit.querySelector(".facts")));
    });
    document.querySelectorAll("main tr[data-pin]").forEach(row => {
      add("pin", row.dataset.pin, [...row.cells].map(words).filter(Boolean).join(" · "));
    });
    // Inputs without a wire of their own, and screens, stand only in drawings.
    document.querySelectorAll("main svg [data-part]").forEach(shown => {
      if (!all.has("part " + shown.dataset.part)) add("part", shown.dataset.part, "");
    });
    return [...all.values()];
  }

  /** The places that show a name, in the order of the book. */
  function places(kind, name) {
    return [...document.querySelectorAll(`main [data-${kind}="${CSS.escape(name)}"]`)];
  }

  /** The name at a point of the page: what is tapped, or what it stands in. */
  function at(node) {
    const named = node.closest("[data-wire], [data-pin], [data-part]");
    if (!named || !named.closest("main")) return null;
    // A row of a list that names a pin and its wire stands for the wire, but for its first cell.
    const row = named.closest("tr");
    const cell = node.closest("th, td");
    const order = row && row.dataset.wire && cell && cell.cellIndex > 0 ? ["wire", "pin", "part"] : ["pin", "wire", "part"];
    const kind = order.find(one => named.dataset[one]);
    return { kind, name: named.dataset[kind] };
  }

  return { index, places, at, words };
})();
