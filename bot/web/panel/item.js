// The whole decision table of an item, and the answer that is picked in it to read out.

import { el, withLinks } from "/web/dom.js";
import { swatch } from "/web/swatch.js";
import { longDate } from "/web/words.js";
import { caller, districtName } from "./caller.js";
import { doing } from "./doing.js";

const list = (names) => names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} and ${names[names.length - 1]}`;
const lower = (text) => text.charAt(0).toLowerCase() + text.slice(1);
const stop = (outcome) => outcome.kind === "hold" || outcome.kind === "emergency" || outcome.destination === "specialist";
const sign = (outcome) => (["bin", "bag"].includes(outcome.kind) ? "bin" : stop(outcome) ? "hold" : outcome.kind);

function place(outcome) {
  return el("span", { class: "place" + (stop(outcome) ? " stop" : "") },
    el("span", { class: "tile" }, swatch(outcome.container, sign(outcome))), el("strong", {}, outcome.name));
}

// "Yes" means nothing without its question; "Cooked at home" says all by itself.
const BARE = /^(yes|no|not|it is|neither|both)\b/i;

function condition({ question, labels, usual }) {
  const bare = labels.some((label) => BARE.test(label));
  return el("span", { class: "if" }, el("span", { class: bare ? "soft" : "unseen" }, question + " "),
    el("b", {}, labels.map((label, at) => (at ? lower(label) : label)).join(" or ")), usual ? el("span", { class: "soft" }, " (usual)") : null);
}

/** The questions that decide, in the order of the table. */
function questions({ table }) {
  const asked = [...new Set(table.rows.flatMap(({ when }) => when.map(({ question }) => question)))];
  return asked.length ? el("div", { class: "to-ask-list" }, el("h3", {}, "Ask"), el("ul", {}, asked.map((one) => el("li", {}, one)))) : null;
}

/** One row; with `pick` it can be chosen. */
function row({ when, outcome, title }, pick) {
  const told = when.length ? when.map(condition) : [el("span", { class: "if" }, el("b", {}, title))];
  return el("tr", {}, el("th", { scope: "row" }, pick ? el("label", { class: "pick" }, pick, el("span", {}, told)) : told),
    el("td", {}, place(outcome),
      outcome.prepare.map((step) => el("span", { class: "step" }, step)),
      outcome.caution ? el("span", { class: "step warn" }, el("b", {}, "Take care. "), outcome.caution) : null,
      outcome.alternatives.length ? el("span", { class: "step soft" }, "Or: ", outcome.alternatives.map((one) => lower(one.name)).join("; ")) : null));
}

function rowsOf({ table, districts }) {
  const rows = table.rows.map((one) => ({
    when: one.when, outcome: one.outcome, title: "Always", district: districts[0],
    facts: Object.fromEntries(one.when.map(({ condition: name, values }) => [name, values[0]])),
  }));
  if (rows.length > 1) {
    rows.push({ when: [], outcome: table.unsettled, title: "The caller does not know", district: districts[0], facts: {} });
  }
  return rows;
}

function grid(name, rows, pick) {
  return el("table", { class: "decisions" }, el("caption", { class: "unseen" }, name),
    el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "If"), el("th", { scope: "col" }, "It goes"))),
    el("tbody", {}, rows.map((one) => row(one, pick ? pick(one) : null))));
}

function fold(title, ...content) {
  return el("details", { class: "fold" }, el("summary", {}, title), ...content);
}

/** Where the place ends and the steps begin in the sentence. */
function cut({ sentence, prepare }) {
  const at = prepare.length ? sentence.indexOf(prepare[0]) : -1;
  return at < 0 ? sentence.length : at;
}

function readout(picked, data) {
  const box = el("div", { class: "readout" });
  const shown = { row: picked };
  const answer = () => {
    const { outcome, facts, district } = shown.row;
    return { copy: outcome.long, short: outcome.short, question: data.name, district, on: data.on,
      items: [{ item: data.item, facts, destination: outcome.destination }] };
  };
  const actions = doing(answer);
  const sentence = el("div", { class: "sentence", "aria-live": "polite" });
  const proof = el("div", {});
  box.append(el("h3", {}, "Read out"), sentence, actions, proof);
  shown.show = (next) => {
    shown.row = next;
    const { outcome } = next;
    sentence.replaceChildren(
      el("p", {}, el("strong", {}, withLinks(outcome.sentence.slice(0, cut(outcome)))), withLinks(outcome.sentence.slice(cut(outcome)))),
      outcome.caution ? el("p", { class: "care" }, el("strong", {}, "Take care: "), withLinks(outcome.caution)) : "",
      outcome.careful ? el("p", { class: "soft" }, "This is the careful answer, until more is known.") : "");
    const facts = [
      ["Why", outcome.why],
      ["Or", outcome.alternatives.map((one) => one.name).join("; ")],
      ["Rule", outcome.rule],
      ["Source", outcome.source],
    ].filter(([, text]) => text);
    proof.replaceChildren(el("dl", { class: "proof" }, facts.map(([name, text]) => [el("dt", {}, name), el("dd", {}, withLinks(text))])));
  };
  shown.show(picked);
  return { box, show: shown.show };
}

/** Fills the section with an item. `asOn(day)` is called to look at a later day. Returns what to focus. */
export function showItem(section, data, asOn) {
  const known = data.district;
  const alike = data.groups.length === 1;
  const groups = known || alike ? [data.groups[0]] : data.groups;
  const others = known ? data.groups.slice(1) : [];
  const parts = groups.map((group) => ({ group, rows: rowsOf(group) }));
  const first = parts[0].rows.length === 1 ? parts[0].rows[0] : parts[0].rows[parts[0].rows.length - 1];
  const open = !(known || alike);
  let out = open ? null : readout(first, data);
  const slot = el("div", {}, out ? out.box : null);
  const radios = [];
  const pick = (one) => {
    const radio = el("input", { type: "radio", name: "answer", checked: !open && one === first,
      onchange: () => {
        if (out) return out.show(one);
        out = readout(one, data);
        slot.replaceChildren(out.box);
        return undefined;
      } });
    radios.push(radio);
    return radio;
  };
  const names = (ids) => list(ids.map(districtName));
  const title = el("h2", { id: "item-name", tabindex: "-1" }, data.name);
  const where = known ? `In ${districtName(known)}${alike ? ", and the same in the other districts" : ""}`
    : alike ? "The same in every district" : "Not the same in each district. Ask: where do you live?";

  section.replaceChildren(el("div", {},
    el("div", { class: "item-head" }, title, data.hazard ? el("span", { class: "badge" }, data.hazard) : null),
    el("p", { class: open ? "ask-first" : "soft" }, where),
    data.changes.map((change) => el("div", { class: "notice" },
      el("p", {}, el("strong", {}, `From ${longDate(change.on)}`), known || alike ? "" : ` in ${districtName(change.district)}`,
        change.told.length ? `: ${change.told.map(lower).join("; ")}.` : ": the advice is another."),
      el("button", { type: "button", class: "quiet", onclick: () => asOn(change.on) }, "See that day"))),
    slot,
    questions(parts[0].group),
    parts.flatMap(({ group, rows }) => [
      open ? el("h3", { class: "of" }, names(group.districts)) : null,
      rows.length === 1 && !open ? null : grid(`${data.name} in ${names(group.districts)}`, rows, pick)]).filter(Boolean),
    parts.length === 1 && parts[0].rows.length === 1 ? el("p", { class: "answer-place" }, place(first.outcome)) : "",
    others.length ? fold("Other districts", others.flatMap((group) => [
      el("h3", { class: "of" }, names(group.districts)), grid(`${data.name} in ${names(group.districts)}`, rowsOf(group))])) : "",
    data.also.length ? fold("Other names", el("p", { class: "soft" }, data.also.join(", "))) : "",
    el("p", { class: "proof-where soft" }, `As on ${longDate(data.on)}. Written in ${data.where}.`)));
  section.hidden = false;
  return radios.find((radio) => radio.checked) || radios[0] || title;
}

export function announce(data) {
  const rows = data.groups[0].table.rows.length;
  const where = caller.district ? ` in ${districtName(caller.district)}` : "";
  return `${data.name}${where}: ${rows === 1 ? "one answer" : `${rows} cases`}.`;
}
