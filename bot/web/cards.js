// Shows one reply of the assistant: the emergency first, then text, then a card per item, then the choices.

import { el, prose, withLinks } from "./dom.js";
import { unsaid } from "./repeats.js";
import { swatch } from "./swatch.js";
import { capital, destination, longDate } from "./words.js";

let serial = 0;

function list(value) {
  return Array.isArray(value) ? value.filter((entry) => typeof entry === "string" && entry.trim()) : [];
}

function headline(item) {
  return item.container ? capital(item.container) : destination(item.destination).name;
}

function strings(item) {
  const place = destination(item.destination);
  return [
    item.asked_as, (item.item || "").replace(/_/g, " "), item.container, place.name, place.about,
    item.why, item.caution, item.rule, item.source,
    ...list(item.prepare), ...list(item.alternatives).map((code) => destination(code).name),
  ].filter((text) => typeof text === "string" && text);
}

function fold(title, ...content) {
  return el("details", { class: "fold" }, el("summary", {}, title), ...content);
}

function careBox(text) {
  return el("div", { class: "care" },
    el("span", { class: "care-sign", "aria-hidden": "true" }, "!"),
    el("p", {}, el("strong", {}, "Take care. "), withLinks(text)));
}

function steps(prepare) {
  if (!prepare.length) return null;
  if (prepare.length === 1) return el("p", { class: "steps" }, withLinks(prepare[0]));
  return el("ol", { class: "steps" }, prepare.map((step) => el("li", {}, withLinks(step))));
}

function others(item) {
  const codes = list(item.alternatives);
  if (!codes.length) return null;
  return el("div", { class: "others" },
    el("h4", {}, codes.length === 1 ? "Another option" : "Other options"),
    el("ul", {}, codes.map((code) => {
      const place = destination(code);
      return el("li", {}, place.name, place.kind === "bin" || !place.about ? "" : el("span", { class: "soft" }, " – " + place.about));
    })));
}

function smallPrint(item) {
  const rows = [["Rule", item.rule], ["Source", item.source]].filter(([, text]) => text);
  if (!rows.length) return null;
  return fold("Rule and source",
    el("dl", { class: "small-print" }, rows.map(([name, text]) => [el("dt", {}, name), el("dd", {}, withLinks(String(text)))])));
}

function card(item, careful) {
  const id = `card-${++serial}`;
  const place = destination(item.destination);
  const asked = item.asked_as || (item.item || "").replace(/_/g, " ") || "This item";
  const tone = place.kind === "hold" ? " stop" : "";
  const open = careful && item.why;
  return el("article", { class: "card" + tone, "aria-labelledby": id },
    el("p", { class: "lid" }, el("span", {}, capital(asked)), careful ? el("span", { class: "badge" }, "Careful answer") : null),
    el("div", { class: "card-body" },
      el("div", { class: "headline" },
        el("span", { class: "tile" }, swatch(item.container, place.kind)),
        el("div", {},
          el("h3", { id }, headline(item)),
          place.about && (item.container || place.kind !== "bin") ? el("p", { class: "soft" }, place.about) : null)),
      item.caution ? careBox(item.caution) : null,
      steps(list(item.prepare)),
      open ? el("p", { class: "why-open" }, withLinks(item.why)) : null,
      others(item),
      el("div", { class: "folds" },
        item.why && !open ? fold("Why", el("p", {}, withLinks(item.why))) : null,
        smallPrint(item))));
}

function emergency(texts, items, fresh) {
  const shown = texts.join("\n");
  const more = items.flatMap((item) => [...list(item.prepare), item.caution])
    .filter((line) => line && !shown.includes(line));
  return el("div", { class: "alarm", role: fresh ? "alert" : "group", "aria-label": fresh ? null : "Emergency" },
    el("h3", {}, "Call 999 now"),
    el("div", { class: "alarm-text" }, texts.flatMap(prose), more.map((line) => el("p", {}, withLinks(line)))),
    el("p", { class: "alarm-call" }, el("a", { href: "tel:999", class: "call" }, "Call 999")));
}


function holds(custom, districtName) {
  const day = longDate(custom.on);
  const where = custom.district ? districtName(custom.district) : "any district";
  return el("p", { class: "holds" }, `For ${where}`, day ? `, as on ${day}.` : ".");
}

function choices(messages, custom) {
  const buttons = messages.flatMap((message) => (Array.isArray(message.buttons) ? message.buttons : []))
    .filter((button) => button && button.title);
  if (buttons.length) return buttons.map(({ title, payload }) => ({ title: String(title), payload: String(payload || title) }));
  const options = custom.asks && Array.isArray(custom.asks.options) ? custom.asks.options : [];
  return options.filter((option) => option && option.label).map(({ label }) => ({ title: label, payload: label }));
}

/** The element for one reply. `choose` is called with a choice; `fresh` is false for a restored reply. */
export function showReply(messages, { choose, districtName, fresh, open }) {
  const carrier = messages.find((message) => message.custom && typeof message.custom === "object");
  const custom = carrier ? carrier.custom : {};
  const texts = messages.map((message) => message.text).filter((text) => typeof text === "string" && text.trim());
  const items = (Array.isArray(custom.items) ? custom.items : []).filter((item) => item && item.destination);
  const urgent = custom.kind === "emergency";
  const dangers = items.filter((item) => item.destination === "emergency");
  const cards = items.filter((item) => !(urgent && item.destination === "emergency"));
  const node = el("div", { class: `turn bot kind-${custom.kind || "text"}` }, el("span", { class: "unseen" }, "Lidwise: "));

  let say = null;
  if (urgent) node.append(emergency(texts, dangers, fresh));
  else {
    const district = custom.district ? [districtName(custom.district)] : [];
    const shown = cards.length ? [...cards.flatMap(strings), ...district] : [];
    const left = texts.map((text) => unsaid(text, shown)).filter(Boolean);
    if (left.length) say = el("div", { class: "say" }, left.flatMap(prose));
  }
  // A question belongs beside its buttons, below the cards.
  const asksLast = custom.kind === "question";
  if (say && !asksLast) node.append(say);

  if (cards.length) {
    const unknown = cards.some((item) => !item.item);
    const careful = (item) => custom.kind === "cautious" && (!item.item || (!unknown && cards.length === 1));
    if (custom.kind === "cautious" && !unknown && cards.length > 1) {
      node.append(el("p", { class: "careful-note" }, "I could not be sure, so this is the careful answer."));
    }
    node.append(el("div", { class: "cards" }, cards.map((item) => card(item, careful(item)))), holds(custom, districtName));
  } else if (custom.kind === "information" && custom.on) {
    if (say) say.append(holds(custom, districtName));
  }
  if (say && asksLast) node.append(say);

  const options = choices(messages, custom);
  if (options.length) {
    node.append(el("div", { class: "options", role: "group", "aria-label": "Choose an answer" },
      options.map((option) => el("button", { type: "button", disabled: !open, onclick: (event) => choose(option, event.currentTarget) }, option.title))));
  }
  return node;
}
