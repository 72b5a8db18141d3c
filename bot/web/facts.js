// Lays out what the assistant tells about containers, streams and places: a line that ends in a colon is followed
// by a list, a sentence "Name: …" gets its name in bold, and a container gets its drawing.

import { el, prose, withLinks } from "./dom.js";
import { sentences } from "./repeats.js";
import { look, swatch } from "./swatch.js";

const LABELLED = /^([A-Z][^:.?!]{1,60}):\s+(.+)$/;
const CONTAINER = /^(.*\b(?:bin|caddy|sack|box|bag)\b[^(]*?)(?: \(([^)]+)\))?$/i;

function place(paragraph) {
  const [first, hours, ...more] = sentences(paragraph);
  const comma = first.indexOf(",");
  const name = comma > 0 ? [el("strong", {}, first.slice(0, comma)), first.slice(comma)] : first;
  return el("li", {}, el("p", {}, name), [hours, more.join(" ")].filter(Boolean).map((text) => el("p", {}, withLinks(text))));
}

function groups(paragraph) {
  const found = [];
  for (const sentence of sentences(paragraph)) {
    const label = LABELLED.exec(sentence);
    if (label) found.push({ name: label[1], text: [label[2]] });
    else if (found.length) found[found.length - 1].text.push(sentence);
    else found.push({ name: "", text: [sentence] });
  }
  return found;
}

function group({ name, text }) {
  return el("p", {}, name ? el("strong", {}, name + ": ") : null, withLinks(text.join(" ")));
}

function container(name, district, text, rest) {
  return el("div", { class: "card known" },
    el("div", { class: "card-body" },
      el("div", { class: "headline" },
        el("span", { class: "tile" }, swatch(name, "bin")),
        el("div", {}, el("h3", {}, name), district ? el("p", { class: "soft" }, district) : null)),
      text.map((sentence) => el("p", {}, withLinks(sentence))), rest.map(group)));
}

/** Elements for the paragraphs of an information. */
export function facts(paragraphs) {
  const at = paragraphs.findIndex((paragraph) => paragraph.endsWith(":"));
  const listed = at < 0 ? [] : paragraphs.slice(at + 1);
  const told = listed.length ? paragraphs.slice(0, at + 1) : paragraphs;
  const nodes = told.flatMap((paragraph) => {
    if (paragraph.includes("\n")) return prose(paragraph);
    const [first, ...rest] = groups(paragraph);
    const named = CONTAINER.exec(first.name);
    if (named && look(named[1]).coloured) return container(named[1], named[2], first.text, rest);
    return [first, ...rest].map(group);
  });
  if (listed.length) nodes.push(el("ul", { class: "places" }, listed.map(place)));
  return nodes;
}
