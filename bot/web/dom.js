// Builds elements from data. Text goes in as text nodes only, so an answer can never become markup.

export function el(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name === "class") node.className = value;
    else if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  node.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== ""));
  return node;
}

const SVG = "http://www.w3.org/2000/svg";

export function svg(tag, attributes = {}, ...children) {
  const node = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, String(value));
  node.append(...children.flat(Infinity).filter(Boolean));
  return node;
}

const LINK = /https:\/\/[^\s<>"')\]]+|tel:\+?[\d-]+|\b0\d{4} ?\d{6}\b|\b999\b/g;

function link(found) {
  if (found.startsWith("https:")) {
    try {
      return el("a", { href: new URL(found).href, rel: "noopener noreferrer" }, found);
    } catch {
      return found;
    }
  }
  const number = found.replace(/^tel:/, "");
  return el("a", { href: "tel:" + number.replace(/[ -]/g, "") }, number);
}

/** The text as nodes, with https addresses and phone numbers as links and nothing else. */
export function withLinks(text) {
  const nodes = [];
  let done = 0;
  for (const match of text.matchAll(LINK)) {
    const found = match[0].replace(/[.,;:!?]+$/, "");
    nodes.push(text.slice(done, match.index), link(found));
    done = match.index + found.length;
  }
  nodes.push(text.slice(done));
  return nodes.filter((node) => node !== "");
}

const BULLET = /^\s*(?:[-*•])\s+/;

/** Paragraphs and bullet lists from a message's plain text. */
export function prose(text) {
  const blocks = [];
  let list = null;
  for (const line of text.split(/\n+/)) {
    if (!line.trim()) continue;
    if (BULLET.test(line)) {
      if (!list) blocks.push((list = el("ul", {})));
      list.append(el("li", {}, withLinks(line.replace(BULLET, ""))));
    } else {
      list = null;
      blocks.push(el("p", {}, withLinks(line.trim())));
    }
  }
  return blocks;
}
