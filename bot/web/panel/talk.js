// Questions in the caller's own words, answered by the same assistant that residents ask.

import { el, prose } from "/web/dom.js";
import { swatch } from "/web/swatch.js";
import { capital, destination } from "/web/words.js";
import { caller } from "./caller.js";
import { doing } from "./doing.js";
import { ask } from "./server.js";

export function talk({ open, fail }) {
  const section = document.getElementById("talk");
  const turns = document.getElementById("turns");
  const form = document.getElementById("more");
  const box = document.getElementById("more-text");

  function chip(item) {
    const place = destination(item.destination);
    const name = capital(item.container || place.name);
    return el("div", { class: "chip" + (place.kind === "hold" ? " stop" : "") },
      el("span", { class: "tile" }, swatch(item.container, place.kind)),
      el("span", { class: "chip-text" }, el("span", {}, capital(item.asked_as)), el("strong", {}, name)),
      item.item ? el("button", { type: "button", class: "quiet", onclick: () => open(item.item) },
        "All cases", el("span", { class: "unseen" }, ` of ${item.asked_as}`)) : null);
  }

  function reply(question, messages) {
    const carrier = messages.find((one) => one.custom) || { custom: {} };
    const custom = carrier.custom;
    const text = messages.map((one) => one.text).filter(Boolean).join("\n\n");
    const items = (custom.items || []).filter((one) => one.destination);
    const buttons = messages.flatMap((one) => one.buttons || []);
    const settled = items.length && !custom.asks;
    const rules = items.map(({ rule, source }) => `${rule} (${source})`);
    return el("div", { class: "reply" },
      custom.kind === "emergency" ? el("div", { class: "alarm", role: "alert" }, prose(text)) : el("div", { class: "words" }, prose(text)),
      custom.kind === "emergency" ? "" : items.map(chip),
      buttons.length ? el("div", { class: "options", role: "group", "aria-label": "Answers to choose from" },
        buttons.map(({ title, payload }) => el("button", { type: "button", onclick: () => say(payload || title) }, title))) : "",
      rules.length ? el("p", { class: "soft small" }, "Rule: ", [...new Set(rules)].join("; ")) : "",
      doing(() => ({
        copy: text, question, reply: custom, district: custom.district || caller.district, on: custom.on,
        items: settled ? items.map(({ item, facts, destination: goes, asked_as: said }) => ({ item, facts, destination: goes, asked_as: said })) : null,
      })));
  }

  let busy = false;

  /** Asks the assistant; the conversation is the caller's. */
  async function say(text) {
    if (busy) {
      box.value = box.value || text;
      fail(new Error("The last question is still being answered. Press Enter again in a moment."));
      return;
    }
    busy = true;
    section.hidden = false;
    document.getElementById("empty").hidden = true;
    const asked = el("p", { class: "asked" }, el("span", { class: "unseen" }, "Asked: "), text);
    turns.append(asked);
    for (const button of turns.querySelectorAll(".options button")) button.disabled = true;
    const waits = el("p", { class: "soft" }, "Looking it up…");
    turns.append(waits);
    const conversation = caller.caller;
    try {
      const messages = await ask("/panel/api/ask", { caller: caller.caller, message: text, district: caller.district, on: caller.on });
      if (caller.caller !== conversation) return;
      const shown = reply(text, messages);
      waits.replaceWith(shown);
      asked.scrollIntoView({ block: "nearest" });
      const choice = shown.querySelector(".options button");
      if (choice) choice.focus();
      else box.focus({ preventScroll: true });
    } catch (error) {
      waits.replaceWith(el("div", { class: "reply" }, el("p", { class: "trouble" }, error.message),
        el("button", { type: "button", class: "quiet", onclick: () => say(text) }, "Try again")));
      fail(error);
    } finally {
      busy = false;
    }
  }

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const text = box.value.trim();
    if (!text) return;
    box.value = "";
    say(text);
  });

  return {
    say,
    clear() {
      turns.replaceChildren();
      box.value = "";
      section.hidden = true;
    },
  };
}
