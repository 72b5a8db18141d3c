// Shows one reply of the assistant: the emergency first, then text, then a card per item, then the choices.

import { el, prose, withLinks } from "./dom.js";
import { facts } from "./facts.js";
import { sameThing, share, unsaid } from "./repeats.js";
import { swatch } from "./swatch.js";
import { capital, destination, longDate } from "./words.js";

const EMERGENCY = "Call 999 now";
let serial = 0;

function list(value) {
  return Array.isArray(value) ? value.filter((entry) => typeof entry === "string" && entry.trim()) : [];
}

function tidied(item) {
  return { ...item, prepare: list(item.prepare), alternatives: list(item.alternatives) };
}

function asked(item) {
  return item.asked_as || (item.item || "").replace(/_/g, " ") || "This item";
}

function headline(item) {
  return capital(item.container || destination(item.destination).name);
}

function about(item) {
  const place = destination(item.destination);
  return item.container || place.kind !== "bin" ? place.about : "";
}

function strings(item) {
  return [asked(item), headline(item), about(item), item.why, item.caution, ...item.prepare].filter(Boolean);
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

/** The other places, as the text names them; by the page's own names if the text does not. */
function others(item, named) {
  const codes = item.alternatives;
  if (!codes.length) return null;
  const entries = named.length
    ? named.map((text) => el("li", {}, capital(text)))
    : codes.map((code) => {
      const place = destination(code);
      return el("li", {}, place.name, place.kind === "bin" || !place.about ? "" : el("span", { class: "soft" }, " – " + place.about));
    });
  return el("div", { class: "others" },
    el("h4", {}, codes.length === 1 ? "Another option" : "Other options"), el("ul", {}, entries));
}

/** Puts the number of a sentence like "Call the depot: 01632 960999." at the end of the step that says to call it. */
function withNumber(prepare, intro) {
  for (const sentence of intro) {
    const found = /^(.+): (0\d{4} ?\d{6})\.?$/.exec(sentence);
    const at = found ? prepare.findIndex((step) => step.startsWith(found[1])) : -1;
    if (at < 0) continue;
    const told = `${prepare[at].replace(/\.$/, "")}: ${found[2]}.`;
    return { prepare: prepare.map((step, index) => (index === at ? told : step)), intro: intro.filter((one) => one !== sentence) };
  }
  return { prepare, intro };
}

function smallPrint(item) {
  const rows = [["Rule", item.rule], ["Source", item.source]].filter(([, text]) => text);
  if (!rows.length) return null;
  return fold("Rule and source",
    el("dl", { class: "small-print" }, rows.map(([name, text]) => [el("dt", {}, name), el("dd", {}, withLinks(String(text)))])));
}

function paragraphs(texts, name) {
  return texts.map((text) => el("p", { class: name }, withLinks(text)));
}

function card(item, more, { careful, open }) {
  const id = `card-${++serial}`;
  const place = destination(item.destination);
  const under = about(item);
  const name = more.name && !sameThing(more.name, asked(item)) ? more.name : "";
  const { prepare, intro } = withNumber(item.prepare, more.intro);
  const requests = more.extra.filter((text) => text.endsWith("?"));
  const remarks = more.extra.filter((text) => !text.endsWith("?"));
  return el("article", { class: "card" + (place.kind === "hold" ? " stop" : ""), "aria-labelledby": id },
    el("p", { class: "lid" }, el("span", {}, capital(asked(item))),
      careful ? el("span", { class: "badge" }, "Careful answer") : null,
      name ? el("span", { class: "known-as" }, `In our rules: ${name.charAt(0).toLowerCase()}${name.slice(1)}`) : null),
    el("div", { class: "card-body" },
      el("div", { class: "headline" },
        el("span", { class: "tile" }, swatch(item.container, place.kind)),
        el("div", {}, el("h3", { id }, headline(item)), under ? el("p", { class: "soft" }, under) : null)),
      paragraphs(intro, "intro"),
      item.caution ? careBox(item.caution) : null,
      steps(prepare),
      paragraphs(remarks, "remark"),
      open && item.why ? el("p", {}, item.item ? el("strong", {}, "Why: ") : null, withLinks(item.why)) : null,
      others(item, more.others),
      paragraphs(requests, "request"),
      el("div", { class: "folds" },
        item.why && !open ? fold("Why", el("p", {}, withLinks(item.why))) : null,
        smallPrint(item))));
}

function emergency(texts, dangers, fresh) {
  const why = [...new Set(dangers.map((item) => item.why).filter(Boolean))];
  const todo = [...new Set(dangers.flatMap((item) => item.prepare))];
  const more = unsaid(texts, [EMERGENCY, ...why, ...todo]);
  return el("div", { class: "alarm", role: fresh ? "alert" : "group", "aria-label": fresh ? null : "Emergency" },
    el("h3", {}, EMERGENCY),
    el("div", { class: "alarm-text" }, paragraphs(why, null),
      todo.length ? el("ul", {}, todo.map((step) => el("li", {}, step))) : null, paragraphs(more, null)),
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
  const items = (Array.isArray(custom.items) ? custom.items : []).filter((item) => item && item.destination).map(tidied);
  const urgent = custom.kind === "emergency";
  const dangers = items.filter((item) => item.destination === "emergency");
  const shown = items.filter((item) => !(urgent && item.destination === "emergency"));
  // The alarm announces itself, at once; the log does not read it a second time.
  const node = el("div", { class: `turn bot kind-${custom.kind || "text"}`, "aria-live": urgent ? "off" : null }, el("span", { class: "unseen" }, "Lidwise: "));

  if (urgent) node.append(emergency(texts, dangers, fresh));
  const { each, rest } = share(urgent ? [] : texts, shown, strings, custom.district ? [districtName(custom.district)] : []);
  const told = custom.kind === "information" && !shown.length ? facts(rest) : rest.flatMap(prose);
  const say = told.length ? el("div", { class: "say" }, told) : null;
  // A question belongs beside its buttons, below the cards.
  const asksLast = custom.kind === "question";
  if (say && !asksLast) node.append(say);

  if (shown.length) {
    const unsure = custom.kind === "cautious" || custom.kind === "question";
    const careful = shown.map((item, index) => !item.item || (unsure && each[index].careful));
    const doubt = custom.kind === "cautious" && !careful.includes(true);
    if (doubt && shown.length > 1) node.append(el("p", { class: "careful-note" }, "I could not be sure, so this is the careful answer."));
    node.append(el("div", { class: "cards" }, shown.map((item, index) => card(item, each[index], {
      careful: careful[index] || (doubt && shown.length === 1),
      open: careful[index] || (doubt && shown.length === 1),
    }))), holds(custom, districtName));
  } else if (custom.kind === "information" && custom.on && say) {
    say.append(holds(custom, districtName));
  }
  if (say && asksLast) node.append(say);

  const options = choices(messages, custom);
  if (options.length) {
    node.append(el("div", { class: "options", role: "group", "aria-label": "Choose an answer" },
      options.map((option) => el("button", { type: "button", disabled: !open, onclick: (event) => choose(option, event.currentTarget) }, option.title))));
  }
  return node;
}
