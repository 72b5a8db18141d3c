// "Was this right?" under an answer: yes or no, and after a no a comment if one wants to give it.

import { el } from "./dom.js";

const KINDS = new Set(["answer", "cautious", "information", "referral"]);
const NOTE = 500;
const TEXTS = {
  right: "Thank you.",
  wrong: "Thank you. A waste officer can look at it.",
  noted: "Thank you. Your comment is kept for a waste officer.",
  refused: "Sorry, this could not be kept.",
};

/** Whether a reply is one that can be right or wrong. */
export function judged(turn) {
  const carrier = turn.messages.find((message) => message.custom);
  return Boolean(turn.to && carrier && KINDS.has(carrier.custom.kind));
}

/**
 * The row under an answer. `turn.verdict` is `{ kind, note, refused }`; `give(kind, note)` keeps one,
 * `say(text)` reads a text out.
 */
export function verdictRow(turn, { give, say }) {
  const told = el("span", { class: "verdict-told" });
  const button = (kind, text) => el("button", { type: "button", class: "quiet small", "aria-pressed": "false", onclick: () => pick(kind) }, text);
  const yes = button("right", "Yes");
  const no = button("wrong", "No");
  const more = el("div", {});
  const row = el("div", { class: "verdict", role: "group", "aria-label": "Was this right?", "aria-live": "off" },
    el("div", { class: "verdict-row" }, el("span", { class: "verdict-ask", "aria-hidden": "true" }, "Was this right?"), yes, no, told), more);

  function show() {
    const { kind, note, refused } = turn.verdict || {};
    yes.setAttribute("aria-pressed", String(kind === "right"));
    no.setAttribute("aria-pressed", String(kind === "wrong"));
    told.textContent = refused ? TEXTS.refused : kind === "wrong" && note ? TEXTS.noted : TEXTS[kind] || "";
  }

  function pick(kind) {
    if (turn.verdict && turn.verdict.kind === kind && !turn.verdict.refused) {
      if (kind === "wrong" && !more.firstChild) comment();
      return;
    }
    give(kind, "");
    show();
    more.replaceChildren();
    if (kind === "wrong") comment();
    say(kind === "wrong" ? TEXTS.wrong + " You can add a comment below." : TEXTS.right);
  }

  function comment() {
    const id = "note-" + turn.id;
    const box = el("textarea", { id, rows: "2", maxlength: NOTE, "aria-describedby": id + "-hint", autocomplete: "off" });
    box.value = (turn.verdict && turn.verdict.note) || "";
    const close = () => { more.replaceChildren(); no.focus(); };
    const form = el("form", { class: "note-form" },
      el("label", { for: id }, "What was wrong? You do not have to say."),
      el("p", { class: "soft", id: id + "-hint" }, `Up to ${NOTE} characters. Please leave out names, addresses and phone numbers.`),
      box,
      el("div", { class: "row" },
        el("button", { type: "submit", class: "main-button" }, "Send comment"),
        el("button", { type: "button", class: "quiet", onclick: close }, "No comment")));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const note = box.value.trim();
      if (!note) return close();
      give("wrong", [...note].slice(0, NOTE).join(""));
      show();
      close();
      say(TEXTS.noted);
    });
    more.replaceChildren(form);
  }

  show();
  return { row, show };
}
