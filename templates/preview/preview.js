"use strict";
(() => {
  const every = 1000;
  const frame = document.getElementById("binder");
  const header = document.getElementById("state");
  const word = document.getElementById("word");
  const message = document.getElementById("message");
  const age = document.getElementById("age");
  const errors = document.getElementById("errors");
  let shown = null;
  let told = null;

  const element = (name, kind, text) => {
    const made = document.createElement(name);
    if (kind) made.className = kind;
    made.textContent = text;
    return made;
  };

  const row = (error) => {
    const item = element("li", "", "");
    if (error.file) item.append(element("span", "place", error.line ? `${error.file}:${error.line}:${error.column} ` : `${error.file} `));
    item.append(element("strong", "", `${error.severity} [${error.code}] `), element("span", "", error.message));
    if (error.help) item.append(element("span", "cure", `help: ${error.help}`));
    return item;
  };

  const say = (status, answered, ahead) => {
    const text = JSON.stringify([status && { ...status, updated: "", counters: {} }, answered, ahead]);
    if (text === told) return;
    told = text;
    const problems = answered && status ? status.errors : [];
    word.textContent = answered ? (status ? status.state : "no status") : "no answer";
    message.textContent = answered ? (status ? status.message : "") : "the watcher has stopped; the binder below is the last one seen";
    age.hidden = !(status && status.stale);
    age.textContent = ahead ? "Below are the pages of the files as they are; the folder follows with the PDF." : "The binder below is older than the files.";
    header.className = problems.length || !answered ? "trouble" : "";
    const rows = problems.map(row);
    if (status && status.errors_total > problems.length) rows.push(element("li", "", `and ${status.errors_total - problems.length} more`));
    errors.replaceChildren(...rows);
  };

  const load = (generation) => {
    if (generation === shown || !generation) return;
    const first = shown === null;
    shown = generation;
    const place = first ? null : frame.contentWindow;
    const top = place ? place.scrollY : 0;
    const hash = place ? place.location.hash : window.location.hash;
    if (!first) frame.addEventListener("load", () => frame.contentWindow.scrollTo(0, top), { once: true });
    // the question mark makes another address of it, or the frame would not load again
    frame.src = `binder/binder.html?${generation}${hash}`;
  };

  const look = async () => {
    try {
      const answer = await fetch("status", { cache: "no-store" });
      const { status, binder, ahead } = await answer.json();
      say(status, true, ahead);
      load(binder);
    } catch {
      say(null, false, false);
    }
    window.setTimeout(look, every);
  };
  look();
})();
