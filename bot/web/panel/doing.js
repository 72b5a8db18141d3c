// What can be done with an answer: copy it, send it as a text message, tell that it is wrong.

import { el } from "/web/dom.js";
import { caller } from "./caller.js";
import { ask } from "./server.js";

let serial = 0;
let texting = null;

/** Why texts cannot be sent, or null. */
export function setTexting(why) {
  texting = why;
}

async function copied(text) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    const box = el("textarea", { class: "unseen", "aria-hidden": "true", tabindex: "-1" });
    box.value = text;
    const before = document.activeElement;
    document.body.append(box);
    box.select();
    let done = false;
    try {
      done = document.execCommand("copy");
    } catch {
      done = false;
    }
    box.remove();
    if (before) before.focus({ preventScroll: true });
    return done;
  }
}

function form(name, title, fields, send, submit, status) {
  const node = el("form", { class: "doing-form", hidden: true, "aria-label": title, novalidate: true }, fields,
    el("div", { class: "row" }, el("button", { class: "main-button" }, send),
      el("button", { type: "button", class: "quiet", onclick: () => shut(node) }, "Cancel")));
  node.dataset.name = name;
  node.addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = node.querySelector(".main-button");
    if (button.disabled) return;
    button.disabled = true;
    try {
      const done = await submit(node);
      shut(node);
      status(done);
    } catch (error) {
      status(error.message, true);
    } finally {
      button.disabled = false;
    }
  });
  return node;
}

function shut(node) {
  node.hidden = true;
  node.reset();
  const button = node.parentElement.querySelector(`[data-opens="${node.dataset.name}"]`);
  button.setAttribute("aria-expanded", "false");
  button.focus();
}

/**
 * The buttons for an answer. `answer()` gives `{ copy, short, items, question, reply }` at the moment of use;
 * without items nothing can be sent.
 */
export function doing(answer) {
  const id = ++serial;
  const status = el("p", { class: "done", role: "status" });
  const tell = (text, bad) => {
    status.classList.toggle("bad", Boolean(bad));
    status.textContent = text;
  };

  const text = form("text", "Send by text message", [
    el("p", {}, el("label", { for: `number-${id}` }, "Caller’s number"),
      el("input", { id: `number-${id}`, name: "number", type: "tel", autocomplete: "off", inputmode: "tel", maxlength: 40, "aria-describedby": `kept-${id}` })),
    el("p", { class: "how", id: `kept-${id}` }, "The number is not kept."),
    el("p", { class: "preview" }),
  ], "Send text", async (node) => {
    const { items, district, on } = answer();
    const number = node.elements.number;
    if (!/\d/.test(number.value)) {
      number.focus();
      throw new Error("Type the caller’s number first.");
    }
    await ask("/panel/api/text", { number: number.value, items, district, on });
    number.value = "";
    return "The text is on its way.";
  }, tell);

  const remark = form("remark", "Wrong or missing", [
    el("fieldset", {}, el("legend", {}, "What is it?"),
      el("label", { class: "switch" }, el("input", { type: "radio", name: "kind", value: "wrong", checked: true }), " The answer is wrong"),
      el("label", { class: "switch" }, el("input", { type: "radio", name: "kind", value: "missing" }), " Something is missing")),
    el("p", {}, el("label", { for: `note-${id}` }, "Note for the waste officer"),
      el("textarea", { id: `note-${id}`, name: "note", rows: 3, maxlength: 500, "aria-describedby": `plain-${id}` })),
    el("p", { class: "how", id: `plain-${id}` }, "No names or numbers of callers, please."),
  ], "Send to the officer", async (node) => {
    const note = node.elements.note.value.trim();
    if (!note) {
      node.elements.note.focus();
      throw new Error("Write a note first.");
    }
    const { items, question, reply, district, on } = answer();
    const told = { kind: node.elements.kind.value, note, question, caller: caller.caller, district, on };
    if (reply) told.reply = reply;
    else if (items) told.items = items;
    await ask("/panel/api/remark", told);
    return "Sent to the officer. Thank you.";
  }, tell);

  async function preview(node) {
    const { short, items, district, on } = answer();
    const place = node.querySelector(".preview");
    try {
      place.textContent = short || (await ask("/panel/api/text", { preview: true, items, district, on })).short;
    } catch (error) {
      tell(error.message, true);
    }
  }

  const opens = (name, label, node, key) => el("button", {
    type: "button", class: "quiet", "data-opens": name, "data-key": key, "aria-expanded": "false",
    onclick: (event) => {
      tell("");
      const why = name === "text" ? texting || (answer().items ? null : "Only an answer that says where a thing goes can be sent.") : null;
      if (why) return tell(why, true);
      if (name === "text") preview(node);
      node.hidden = !node.hidden;
      event.currentTarget.setAttribute("aria-expanded", String(!node.hidden));
      if (!node.hidden) node.querySelector("input:not([type=radio]), textarea").focus();
      return undefined;
    },
  }, label);

  return el("div", { class: "doing" },
    el("div", { class: "row" },
      el("button", { type: "button", class: "quiet", "data-key": "copy",
        onclick: async () => tell(await copied(answer().copy) ? "Copied." : "This browser does not let the page copy. Mark the text and copy it.") }, "Copy"),
      opens("text", "Text it", text, "text"),
      opens("remark", "Wrong or missing", remark, "remark")),
    status, text, remark);
}
