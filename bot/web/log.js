// The conversation on the screen: draws turns, brings the start of a new reply into view, and reads each out once.

import { showReply } from "./cards.js";
import { el } from "./dom.js";
import { judged, verdictRow } from "./verdict.js";

const GAP = 12;

/**
 * `hooks`: `choose(option)`, `districtName(id)`, `retry(turn)`, `give(turn, kind, note)`, `say(text)`.
 * `scroller` is the element that scrolls: the document's, or the widget's own.
 */
export function conversation({ parts, state, scroller, hooks }) {
  const { log, waiting, newer, composer } = parts;
  const nodes = new Map();
  const rows = new Map();

  /** The reply whose choices are still open. */
  function lastAsking() {
    for (const turn of [...state().turns].reverse()) {
      if (turn.from === "me") return null;
      if (turn.from === "bot") return turn;
    }
    return null;
  }

  function draw(turn, fresh) {
    if (turn.from === "note") return el("p", { class: "turn note" }, turn.text);
    if (turn.from === "person") {
      return el("div", { class: "turn bot person from-person" }, el("p", { class: "soft" }, turn.name), el("p", {}, turn.text));
    }
    if (turn.from === "me") {
      return el("div", { class: "turn me", tabindex: "-1" },
        el("p", { class: "bubble" }, el("span", { class: "unseen" }, "You: "), turn.text),
        turn.trouble ? unsent(turn) : null);
    }
    const node = showReply(turn.messages, { ...hooks, fresh, open: turn === lastAsking() });
    if (judged(turn)) {
      const made = verdictRow(turn, { give: (kind, note) => hooks.give(turn, kind, note), say: hooks.say });
      rows.set(turn.id, made);
      node.append(made.row);
    }
    return node;
  }

  function unsent(turn) {
    return el("div", { class: "unsent" },
      el("p", {}, el("strong", {}, turn.trouble.label), " ", turn.trouble.text),
      el("button", { type: "button", class: "quiet", onclick: () => hooks.retry(turn) }, turn.waits ? "Try now" : "Try again"));
  }

  function place(turn, fresh) {
    const old = nodes.get(turn.id);
    const text = turn.trouble ? turn.trouble.label + turn.trouble.text : "";
    if (old && turn.from === "me" && old.trouble === text) return old.node;
    const node = draw(turn, fresh);
    if (old) {
      const focused = old.node.contains(old.node.getRootNode().activeElement);
      old.node.replaceWith(node);
      if (focused) parts.message.focus({ preventScroll: true });
    } else {
      log.append(node);
    }
    nodes.set(turn.id, { node, trouble: text });
    showEmptiness();
    return node;
  }

  function showEmptiness() {
    parts.clear.hidden = !state().turns.length;
    parts.examples.hidden = state().turns.some((turn) => turn.from === "me");
  }

  function drawAll() {
    // What is put back after a reload was read out once already.
    if (state().turns.length) log.setAttribute("aria-live", "off");
    nodes.clear();
    rows.clear();
    log.replaceChildren();
    newer.hidden = true;
    for (const turn of state().turns) place(turn, false);
    showEmptiness();
    setTimeout(() => log.removeAttribute("aria-live"), 500);
  }

  function closeChoices() {
    for (const button of log.querySelectorAll(".options button")) button.disabled = true;
  }

  function frame() {
    const whole = scroller === document.documentElement;
    const { top, bottom } = whole ? { top: 0, bottom: innerHeight } : scroller.getBoundingClientRect();
    const stuck = getComputedStyle(composer).position === "sticky";
    return { top, bottom: bottom - (stuck ? composer.offsetHeight : 0) };
  }

  /** Whether the end of the conversation is in view: whoever scrolled up is not to be moved. */
  function atEnd() {
    const { top, bottom } = waiting.getBoundingClientRect();
    const view = frame();
    return bottom > view.top && top < view.bottom + 48;
  }

  /** Scrolls the chat, and nothing around it, until an edge of a node is in view. */
  function bring(node, edge, atOnce = false) {
    const calm = atOnce || matchMedia("(prefers-reduced-motion: reduce)").matches;
    const { top, bottom } = node.getBoundingClientRect();
    const view = frame();
    const up = top - view.top - GAP;
    const down = bottom - view.bottom + GAP;
    const by = { start: up, end: down, nearest: up < 0 ? up : Math.max(0, Math.min(down, up)) }[edge];
    scroller.scrollBy({ top: by, behavior: calm ? "auto" : "smooth" });
  }

  /** Brings a turn into view from its start; with the question before it, if both fit. */
  function reveal(node) {
    const view = frame();
    const room = view.bottom - view.top - 2 * GAP;
    const before = node.previousElementSibling;
    const both = before && node.offsetHeight + before.offsetHeight + 2 * GAP <= room;
    if (node.offsetHeight > room) bring(node, "start");
    else if (both) bring(waiting, "end");
    else bring(node, "start");
  }

  newer.addEventListener("click", () => {
    newer.hidden = true;
    const last = log.querySelector(".fresh") || log.lastElementChild;
    if (!last) return;
    last.tabIndex = -1;
    last.focus({ preventScroll: true });
    reveal(last);
  });
  new IntersectionObserver(([seen]) => {
    if (seen.isIntersecting) newer.hidden = true;
  }).observe(waiting);

  return {
    place,
    drawAll,
    lastAsking,
    closeChoices,
    bring,
    reveal,
    node: (turn) => nodes.get(turn.id).node,
    judged: (turn) => rows.has(turn.id) && rows.get(turn.id).show(),
    /** Adds a turn that came by itself. */
    arrive(turn) {
      const near = atEnd();
      const node = place(turn, true);
      if (near) return reveal(node);
      for (const old of log.querySelectorAll(".fresh")) old.classList.remove("fresh");
      node.classList.add("fresh");
      newer.hidden = false;
    },
  };
}
