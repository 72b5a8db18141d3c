// The panel's keys. All need Alt and Shift, so that none is a letter a screen reader or a text box wants;
// they can be turned off (WCAG 2.2, 2.1.4).

import { el } from "/web/dom.js";

const KEPT = "lidwise-panel-keys";

function on() {
  try {
    return localStorage.getItem(KEPT) !== "off";
  } catch {
    return true;
  }
}

/** `wanted` lists `[code, letter, what it does, act]`. */
export function keys(wanted) {
  const box = document.getElementById("keys-on");
  box.checked = on();
  box.addEventListener("change", () => {
    try {
      localStorage.setItem(KEPT, box.checked ? "on" : "off");
    } catch {
      // Then it holds until the page is closed.
    }
  });
  const shown = [
    ["Enter", "Open the item that is chosen"], ["Ctrl and Enter", "Ask the assistant"],
    ["Escape", "Back to the search box"], ...wanted.map(([, letter, about]) => [`Alt, Shift and ${letter}`, about]),
  ];
  document.getElementById("key-list").replaceChildren(...shown.flatMap(([key, about]) => [el("dt", {}, key), el("dd", {}, about)]));
  document.addEventListener("keydown", (event) => {
    if (!box.checked || !event.altKey || !event.shiftKey || event.ctrlKey || event.metaKey) return;
    const found = wanted.find(([code]) => code === event.code);
    if (!found || document.querySelector("dialog[open]")) return;
    event.preventDefault();
    found[3]();
  });
}
