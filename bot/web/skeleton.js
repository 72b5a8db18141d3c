// The chat's fixed parts, the same on the page and in the widget.

import { el } from "./dom.js";

const EXAMPLES = ["Pizza box", "AA batteries", "What goes in the food caddy?"];

function button(id, text, name = "quiet", more = {}) {
  return el("button", { type: "button", id, class: name, ...more }, text);
}

function district() {
  return el("section", { class: "district", "aria-labelledby": "district-title" },
    el("h2", { id: "district-title" }, "Your district"),
    el("form", { id: "district-form", hidden: true },
      el("fieldset", {},
        el("legend", {}, "Where do you live? Bins differ between districts."),
        el("div", { id: "district-choices", class: "choices" })),
      el("p", { id: "district-trouble", class: "trouble", hidden: true }, "The list of districts did not load. You can still ask."),
      el("div", { class: "row" },
        el("button", { type: "submit", class: "main-button", id: "district-save" }, "Use this district"),
        button("district-again", "Try again", "quiet", { hidden: true }))),
    el("div", { id: "district-set", class: "district-set", hidden: true },
      el("p", {}, el("span", { class: "lead" }, "District: "), el("span", { id: "district-now" })),
      button("district-change", ["Change", el("span", { class: "unseen" }, " district")])));
}

function welcome() {
  return el("div", { class: "turn bot welcome", id: "welcome" },
    el("p", {}, "Hello. Tell me what you want to get rid of. I will tell you where it goes."),
    el("p", { class: "soft" }, "Please leave out names, addresses and phone numbers. I do not need them."),
    el("div", { class: "options", id: "examples", role: "group", "aria-label": "Examples to try" },
      EXAMPLES.map((text) => el("button", { type: "button" }, text))));
}

function composer() {
  return el("form", { class: "composer", id: "composer", novalidate: true },
    el("div", { class: "newer" }, button("newer", "See the new answer", "main-button", { hidden: true })),
    el("p", { class: "offline", id: "offline", hidden: true }, "You are offline. What you send is kept."),
    el("label", { for: "message" }, "Ask about an item or a bin"),
    el("div", { class: "composer-row" },
      el("textarea", { id: "message", rows: "1", autocomplete: "off", enterkeyhint: "send", "aria-describedby": "keys" }),
      el("button", { type: "submit", class: "main-button", id: "send" }, "Send")),
    el("p", { class: "composer-foot" },
      el("span", { id: "keys", class: "keys" }, "Enter sends. Shift and Enter starts a new line."),
      el("span", { id: "count", class: "count" })));
}

function clearing() {
  return el("dialog", { id: "clear-ask", class: "ask", "aria-labelledby": "clear-title" },
    el("form", { method: "dialog" },
      el("h2", { id: "clear-title" }, "Clear this chat?"),
      el("p", {}, "All messages go from this page. You cannot get them back. Your district stays."),
      el("div", { class: "row" },
        el("button", { class: "main-button", value: "clear" }, "Clear chat"),
        el("button", { class: "quiet", value: "keep" }, "Keep it"))));
}

/** The chat's element, and its parts by id. */
export function skeleton() {
  const whole = el("div", { class: "columns", id: "app" },
    el("div", { class: "rail" }, district()),
    el("section", { class: "chat", "aria-labelledby": "chat-title" },
      el("div", { class: "chat-head" },
        el("h2", { id: "chat-title" }, "Your chat"),
        el("div", { class: "chat-tools" },
          button("person", "Ask for a person", "quiet", { hidden: true }),
          button("clear", "Clear chat", "quiet", { hidden: true }))),
      welcome(),
      el("div", { id: "log", role: "log", "aria-labelledby": "chat-title" }),
      el("div", { class: "waiting", role: "status", id: "waiting" }),
      composer(),
      el("p", { class: "unseen", role: "status", id: "said" })),
    clearing());
  const parts = {};
  for (const node of whole.querySelectorAll("[id]")) parts[node.id] = node;
  return { whole, parts };
}
