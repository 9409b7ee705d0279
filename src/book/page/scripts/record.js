// Ticks and readings: kept on this device, counted by section, written to a file and read from one.

const record = (() => {
  const FORM = "loomwright record 1";
  const fields = new Map();
  let kept = { ticks: {}, readings: {} };
  let say = null;

  /** What a reading is called in the record: its step, or its pin in a chain. */
  function named(cell) {
    const row = cell.closest("tr");
    const step = row.dataset.step;
    if (step) return `step ${step}`;
    const sheet = [...document.querySelectorAll("article.sheet")].indexOf(cell.closest("article.sheet")) + 1;
    const chain = [...cell.closest("article").querySelectorAll(".chain")].indexOf(cell.closest(".chain")) + 1;
    const link = [...cell.closest("tbody").rows].filter(one => one.querySelector("td.read")).indexOf(row) + 1;
    return `sheet ${sheet}, chain ${chain}, row ${link}`;
  }

  function once(key) {
    let [free, n] = [key, 1];
    while (fields.has(free)) free = `${key} (${++n})`;
    return free;
  }

  function gather() {
    document.querySelectorAll("main input[type=checkbox]").forEach(box => {
      const section = box.closest("main > section").getAttribute("aria-labelledby");
      fields.set(once(`${section}: ${box.getAttribute("aria-label")}`), box);
    });
    document.querySelectorAll("main td.read").forEach(cell => {
      const key = once(named(cell));
      const input = element("input", { class: "reading", "aria-label": `Reading, ${key}`, autocomplete: "off", maxlength: "60" });
      cell.replaceChildren(input);
      fields.set(key, input);
    });
  }

  /** A number that another book, or another revision of this one, doesn't share: FNV-1a over the names of all fields. */
  function fingerprint() {
    let hash = 0x811c9dc5;
    for (const letter of document.title + "\n" + [...fields.keys()].join("\n")) {
      hash = Math.imul(hash ^ letter.codePointAt(0), 0x01000193) >>> 0;
    }
    return hash.toString(16).padStart(8, "0");
  }

  const place = () => `${FORM} ${fingerprint()}`;

  function keep() {
    for (const [key, field] of fields) {
      if (field.type === "checkbox") kept.ticks[key] = field.checked || undefined;
      else kept.readings[key] = field.value.trim() || undefined;
    }
    kept = JSON.parse(JSON.stringify(kept));
    try {
      localStorage.setItem(place(), JSON.stringify(kept));
    } catch {
      say("This browser keeps nothing for this page. Save the record to a file.");
    }
    count();
  }

  function fill(from) {
    for (const [key, field] of fields) {
      if (field.type === "checkbox") field.checked = Boolean(from.ticks[key]);
      else field.value = typeof from.readings[key] === "string" ? from.readings[key] : "";
    }
    kept = { ticks: {}, readings: {} };
  }

  /** How much is done, at the head of each section and beside it in the contents. */
  function count() {
    let [done, all] = [0, 0];
    document.querySelectorAll("main > section").forEach(section => {
      const boxes = [...section.querySelectorAll("input[type=checkbox]")];
      if (!boxes.length) return;
      const ticked = boxes.filter(box => box.checked).length;
      [done, all] = [done + ticked, all + boxes.length];
      const id = section.getAttribute("aria-labelledby");
      for (const head of [document.getElementById(id), document.querySelector(`nav a[href="#${id}"]`).parentNode]) {
        const shown = head.querySelector(".done") || head.appendChild(element("span", { class: "done" }));
        shown.textContent = ` ${ticked} of ${boxes.length}`;
      }
    });
    document.getElementById("progress").textContent = all ? `${done} of ${all} done` : "";
  }

  function download(name, type, text) {
    const link = element("a", { href: URL.createObjectURL(new Blob([text], { type })), download: name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  }

  const stem = () => document.title.split(" – ")[0].toLowerCase().replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "");

  function text() {
    keep();
    const book = { form: FORM, book: document.title, fingerprint: fingerprint(), saved: new Date().toISOString() };
    return JSON.stringify({ ...book, ...kept }, null, 2) + "\n";
  }

  /** The readings of the bench test, in the form of bench-test.csv: `loomwright bench` judges them. */
  function results() {
    const quoted = cell => (/[",\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell);
    const rows = [["Step", "Check", "Red tip", "Black tip", "Read"]];
    document.querySelectorAll("tr[data-step]").forEach(row => {
      const field = row.querySelector("input.reading");
      if (!field) return;
      const cell = n => names.words(row.cells[n]);
      rows.push([row.dataset.step, cell(2), cell(3), cell(4), field.value.trim()]);
    });
    return rows.map(row => row.map(quoted).join(",") + "\r\n").join("");
  }

  /** Reads a record; says why if it is none, and then changes nothing. */
  function read(content) {
    let from;
    try {
      from = JSON.parse(content);
    } catch {
      return say("This file is no record: it is not JSON. Nothing has changed.");
    }
    const whole = from && from.form === FORM && from.ticks && from.readings;
    if (!whole) return say("This file is no record of a build book. Nothing has changed.");
    if (from.fingerprint !== fingerprint()) {
      return say(`This record belongs to another book or revision: ${String(from.book).slice(0, 90)}. Nothing has changed.`);
    }
    fill(from);
    keep();
    say("The record is read.");
  }

  function start(tell) {
    say = tell;
    gather();
    try {
      const before = localStorage.getItem(place());
      if (before) fill(JSON.parse(before));
    } catch {
      say("What this browser kept can't be read. Ticks start empty.");
    }
    document.querySelector("main").addEventListener("change", keep);
    count();
  }

  return {
    start,
    read,
    text,
    results,
    save: () => download(`${stem()}-record.json`, "application/json", text()),
    saveResults: () => download(`${stem()}-bench-results.csv`, "text/csv", results()),
  };
})();
