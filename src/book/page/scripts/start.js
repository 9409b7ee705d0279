// The bar at the head of the window: search, progress, the record.

(() => {
  const MOST_HITS = 12;
  const all = names.index();
  const describe = (kind, name) => (all.find(one => one.kind === kind && one.name === name) || {}).line;
  const pick = one => picks.pick(one.kind, one.name, [describe(one.kind, one.name), live.reading(one)].filter(Boolean).join(" · "));

  const search = element("input", { type: "search", id: "search", placeholder: "Wire, pin, part, colour…", "aria-label": "Search", autocomplete: "off" });
  const hits = element("ul", { id: "hits", hidden: "" });
  const only = element("input", { type: "checkbox", id: "only" });
  const sifter = element("label", { for: "only", hidden: "" }, only, " only matching rows");
  const note = element("span", { id: "note", role: "status" });
  const tell = text => { note.textContent = text; };
  const button = (text, run) => {
    const made = element("button", { type: "button" }, text);
    made.addEventListener("click", run);
    return made;
  };

  const terms = () => search.value.toLowerCase().split(/\s+/).filter(Boolean);
  // A word counts from its beginning, so that 1 finds wire 1 and 12, but not 31.
  const has = (text, word) => (" " + text).replace(/[·,()/]/g, " ").includes(" " + word);
  const matches = text => terms().every(word => has(text, word));

  function look() {
    const wanted = terms();
    // A name that is asked for comes first, then those that begin so.
    const rank = ({ name }) => {
      const own = name.toLowerCase();
      return wanted.includes(own) ? 0 : wanted.some(word => own.startsWith(word)) ? 1 : 2;
    };
    const found = wanted.length ? all.filter(one => matches(one.text)) : [];
    found.sort((a, b) => rank(a) - rank(b));
    hits.replaceChildren(...found.slice(0, MOST_HITS).map(one => {
      const made = button("", () => choose(one));
      made.append(element("b", {}, `${one.kind} ${one.name}`), " " + one.line);
      return element("li", {}, made);
    }));
    if (wanted.length && !found.length) hits.append(element("li", {}, "nothing found"));
    if (found.length > MOST_HITS) hits.append(element("li", {}, `and ${found.length - MOST_HITS} more: type another word`));
    hits.hidden = !wanted.length;
    sifter.hidden = !wanted.length;
    sift();
  }

  /** Hides the rows of lists that don't have all the words. */
  function sift() {
    const on = only.checked && terms().length > 0;
    document.querySelectorAll("main tbody tr").forEach(row => {
      row.hidden = on && !row.classList.contains("shelf") && !matches(names.words(row).toLowerCase());
    });
    tell(on ? `${document.querySelectorAll("main tbody tr:not([hidden]):not(.shelf)").length} rows have these words; the others are hidden` : "");
  }

  function choose(one) {
    hits.hidden = true;
    if (pick(one)) picks.step(1);
  }

  search.addEventListener("input", look);
  search.addEventListener("keydown", event => {
    const first = hits.querySelector("button");
    if (event.key === "Enter" && first) first.click();
    if (event.key === "Escape") { search.value = ""; look(); }
    if (event.key === "ArrowDown" && first) { first.focus(); event.preventDefault(); }
  });
  hits.addEventListener("keydown", event => {
    const line = event.target.closest("li");
    const next = { ArrowDown: line.nextElementSibling, ArrowUp: line.previousElementSibling }[event.key];
    const made = next && next.querySelector("button");
    if (made) { made.focus(); event.preventDefault(); }
    if (event.key === "Escape") { hits.hidden = true; search.focus(); }
  });
  only.addEventListener("change", sift);

  const file = element("input", { type: "file", accept: ".json,application/json", hidden: "", "aria-label": "Record to read" });
  file.addEventListener("change", async () => {
    if (file.files.length) record.read(await file.files[0].text());
    file.value = "";
  });
  const menu = element("details", {}, element("summary", {}, "Record"), element("div", {},
    button("Save the record", record.save),
    button("Read a record", () => file.click()),
    button("Save the bench results", record.saveResults),
    file));
  const finder = element("div", { class: "finder" }, search, hits);
  const progress = element("span", { id: "progress" });
  const bar = element("section", { id: "tools", "aria-label": "Tools" },
    element("a", { href: "#contents" }, "Contents"), finder, live.chooser,
    sifter, progress, menu, note);
  document.body.prepend(bar);
  document.body.append(picks.bar);

  record.start(tell);
  enlarge.start();
  live.start(tell);

  document.querySelector("main").addEventListener("click", event => {
    if (event.target.closest("a, input, button, summary") || String(getSelection())) return;
    const one = names.at(event.target);
    if (one) pick(one);
  });
  document.addEventListener("keydown", event => {
    if (event.key === "Escape" && !event.target.matches("input")) picks.clear();
  });

  /** A link such as `#wire=12` marks the wire and goes to it. */
  function follow() {
    const [, kind, name] = /^#(wire|pin|part)=(.+)$/.exec(location.hash) || [];
    if (kind && pick({ kind, name: decodeURIComponent(name) })) picks.step(1);
  }
  addEventListener("hashchange", follow);
  follow();
})();
