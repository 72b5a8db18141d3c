// The search box: a combobox with a list of items, after the pattern of the WAI-ARIA Authoring Practices.

import { el } from "/web/dom.js";
import { ask } from "./server.js";

const PAUSE = 60;

/** Wires the box. `open(item, typed)` and `question(text)` are called with what the agent chose. */
export function finder({ open, question, say, fail }) {
  const input = document.getElementById("find");
  const list = document.getElementById("matches");
  let shown = [];
  let chosen = -1;
  let asking = null;
  let later = 0;
  let latest = "";

  const looksLikeQuestion = (text) => text.includes("?") || text.trim().split(/\s+/).length > 6;

  function close() {
    clearTimeout(later);
    if (asking) asking.abort();
    list.hidden = true;
    shown = [];
    choose(-1);
    input.setAttribute("aria-expanded", "false");
  }

  function choose(index) {
    chosen = index;
    [...list.children].forEach((row, at) => row.setAttribute("aria-selected", String(at === index)));
    if (index >= 0) {
      input.setAttribute("aria-activedescendant", `match-${index}`);
      list.children[index].scrollIntoView({ block: "nearest" });
    } else {
      input.removeAttribute("aria-activedescendant");
    }
  }

  function row(entry, index) {
    const words = entry.question
      ? [el("span", { class: "match-name" }, "Ask the assistant"), el("span", { class: "soft" }, entry.question)]
      : [el("span", { class: "match-name" }, entry.name),
        el("span", { class: "soft" }, entry.also ? `also called: ${entry.also}` : entry.section)];
    return el("li", { role: "option", id: `match-${index}`, "aria-selected": "false", class: entry.question ? "to-ask" : null,
      onmousedown: (event) => event.preventDefault(), onclick: () => take(entry) }, words);
  }

  function show(matches, text) {
    shown = [...matches, { question: text }];
    list.replaceChildren(...shown.map(row));
    list.hidden = false;
    input.setAttribute("aria-expanded", "true");
    choose(matches.length && !looksLikeQuestion(text) ? 0 : shown.length - 1);
    say(matches.length ? `${matches.length} ${matches.length === 1 ? "item matches" : "items match"}.` : "No item matches. Enter asks the assistant.");
  }

  async function look() {
    const text = input.value.trim();
    if (!text) return close();
    if (asking) asking.abort();
    asking = new AbortController();
    try {
      const told = await ask(`/panel/api/find?q=${encodeURIComponent(text)}`, undefined, asking.signal);
      if (input.value.trim() !== text) return undefined;
      latest = text;
      show(told.matches, text);
    } catch (error) {
      if (error.name !== "AbortError") fail(error);
    }
    return undefined;
  }

  function take(entry) {
    const typed = input.value.trim();
    close();
    if (entry.question !== undefined) {
      input.value = "";
      question(entry.question);
    } else {
      open(entry.item, typed);
    }
  }

  async function enter(event) {
    const text = input.value.trim();
    if (!text) return;
    if (event.ctrlKey || event.metaKey) return take({ question: text });
    // Whoever types fast presses Enter before the list is there.
    if (latest !== text || list.hidden) {
      clearTimeout(later);
      await look();
    }
    if (chosen >= 0 && shown[chosen]) take(shown[chosen]);
  }

  input.addEventListener("input", () => {
    clearTimeout(later);
    later = setTimeout(look, PAUSE);
  });
  input.addEventListener("keydown", (event) => {
    if (event.isComposing) return;
    const last = shown.length - 1;
    if (event.key === "Enter") {
      event.preventDefault();
      enter(event);
    } else if (event.key === "Escape") {
      event.preventDefault();
      if (list.hidden) input.value = "";
      close();
    } else if ((event.key === "ArrowDown" || event.key === "ArrowUp") && !event.altKey) {
      event.preventDefault();
      if (list.hidden) look();
      else if (event.key === "ArrowDown") choose(chosen >= last ? 0 : chosen + 1);
      else choose(chosen <= 0 ? last : chosen - 1);
    }
  });
  input.addEventListener("blur", () => {
    clearTimeout(later);
    list.hidden = true;
    input.setAttribute("aria-expanded", "false");
    input.removeAttribute("aria-activedescendant");
  });

  return {
    focus() {
      input.focus();
      input.select();
    },
    clear() {
      input.value = "";
      latest = "";
      close();
    },
  };
}
