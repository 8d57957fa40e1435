"use strict";
// Conveniences on a screen. Without them everything can still be read, reached by keyboard and printed.
(() => {
  const ENOUGH = 10;
  // a minus sign is not on a keyboard
  const plain = (text) => text.toLowerCase().replaceAll("\u2212", "-").replace(/\s+/g, " ");
  const make = (name, attributes, ...inside) => {
    const made = document.createElement(name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    made.append(...inside);
    return made;
  };

  const filtered = new Map();
  for (const box of document.querySelectorAll("main .tablebox:not(.form)")) {
    const table = box.querySelector("table");
    const rows = [...table.querySelectorAll("tbody tr:not(.group)")];
    if (rows.length < ENOUGH || !table.id) continue;
    const id = `filter-${table.id}`;
    const field = make("input", { type: "search", id, autocomplete: "off", "aria-describedby": box.getAttribute("aria-labelledby") });
    const told = make("output", { for: id });
    let texts = null;
    const show = () => {
      texts ??= rows.map((row) => plain(row.textContent));
      const wanted = plain(field.value).split(" ").filter(Boolean);
      let shown = 0;
      rows.forEach((row, i) => {
        const fits = wanted.every((word) => texts[i].includes(word));
        row.classList.toggle("sifted", !fits);
        shown += fits;
      });
      for (const head of table.querySelectorAll("tr.group"))
        head.classList.toggle("sifted", !head.parentElement.querySelector("tr:not(.group):not(.sifted)"));
      told.textContent = wanted.length ? `${shown} of ${rows.length} rows shown` : "";
    };
    const clear = () => {
      field.value = "";
      show();
    };
    field.addEventListener("input", show);
    field.addEventListener("keydown", (event) => {
      if (event.key === "Escape") clear();
    });
    box.before(make("div", { class: "filter" }, make("label", { for: id }, "Filter rows"), " ", field, " ", told));
    filtered.set(table, clear);
  }

  // a link into a table shows its row, whatever the filter says
  const arrive = () => {
    const row = document.getElementById(decodeURIComponent(location.hash.slice(1)))?.closest("tr.sifted");
    if (!row) return;
    filtered.get(row.closest("table"))();
    row.scrollIntoView();
  };
  addEventListener("hashchange", arrive);
  document.addEventListener("click", (event) => {
    if (event.target.closest?.("a[href^='#']")) setTimeout(arrive);
  });

  // what does not scroll need not be stopped at
  const boxes = [...document.querySelectorAll(".tablebox, .plate, .labelroll")];
  const reach = () => {
    const scrolls = boxes.map((box) => box.scrollWidth > box.clientWidth + 1);
    boxes.forEach((box, i) => (scrolls[i] ? box.setAttribute("tabindex", "0") : box.removeAttribute("tabindex")));
  };
  let waits = 0;
  addEventListener("resize", () => {
    cancelAnimationFrame(waits);
    waits = requestAnimationFrame(reach);
  });
  reach();
})();
