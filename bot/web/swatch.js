// A small drawing of the container an answer names, coloured by the colour words in that name.
// It only supports the headline beside it, which always says the same in words.

import { svg } from "./dom.js";

const COLOURS = "dark grey|grey|yellow|teal|lime|brown|orange|silver|maroon|navy|white|green";

/** What a container's name says about its look, e.g. "grey bin with a yellow lid". */
export function look(name) {
  const text = name.toLowerCase();
  const bag = /\bbag (?:on|beside)\b/.exec(text);
  const found = [...text.matchAll(new RegExp(`\\b(${COLOURS})\\b( lid)?`, "g"))];
  const lidOnly = found.find((match) => match[2]);
  const whole = found.find((match) => !match[2]);
  const body = whole ? whole[1] : "plain";
  let shape = "bin";
  if (bag) shape = bag[0].endsWith("on") ? "bag-on" : "bag-beside";
  else if (/\bcaddy\b/.test(text)) shape = "caddy";
  else if (/\bsack\b|\bbag\b/.test(text)) shape = "sack";
  else if (/\bbox\b/.test(text)) shape = "box";
  return { shape, body: slug(body), lid: slug(lidOnly ? lidOnly[1] : body), coloured: found.length > 0 };
}

function slug(colour) {
  return colour.replace(" ", "-");
}

function piece(d, colour) {
  return svg("path", { d, class: `part c-${colour}` });
}

const bin = (body, lid) => [
  svg("circle", { cx: 17, cy: 42, r: 3, class: "wheel" }),
  svg("circle", { cx: 31, cy: 42, r: 3, class: "wheel" }),
  piece("M12 17h24l-2 22a2 2 0 0 1-2 2H16a2 2 0 0 1-2-2z", body),
  piece("M9 12.500A3.500 3.500 0 0 1 12.500 9h23A3.500 3.500 0 0 1 39 12.500V17H9z", lid),
];

const SHAPES = {
  bin,
  caddy: (body, lid) => [
    svg("path", { d: "M14 20C14 4 34 4 34 20", class: "handle" }),
    piece("M14 24h20l-1.500 15a2 2 0 0 1-2 2h-13a2 2 0 0 1-2-2z", body),
    piece("M11 21a2 2 0 0 1 2-2h22a2 2 0 0 1 2 2v4H11z", lid),
  ],
  sack: (body) => [
    piece("M17 7c4 3 10 3 14 0l-3 8c8 6 10 15 9 24a3 3 0 0 1-3 3H14a3 3 0 0 1-3-3c-1-9 1-18 9-24z", body),
    svg("path", { d: "M19 15h10", class: "handle" }),
  ],
  box: (body) => [
    piece("M9 21h30l-3 18a2 2 0 0 1-2 2H14a2 2 0 0 1-2-2z", body),
    piece("M6 18a2 2 0 0 1 2-2h32a2 2 0 0 1 2 2v3H6z", body),
  ],
  "bag-on": (body, lid) => [
    svg("g", { transform: "translate(4.500 13) scale(.8)" }, bin(body, lid)),
    svg("path", { d: "M20 4c3 2 5 2 8 0l-2 4c5 2 7 7 6 11H16c-1-4 1-9 6-11z", class: "bag" }),
  ],
  "bag-beside": (body, lid) => [
    svg("g", { transform: "translate(-6 4) scale(.86)" }, bin(body, lid)),
    svg("path", { d: "M35 21c2 1.500 4 1.500 6 0l-1 4c5 3 7 9 5 16H31c-2-7 0-13 5-16z", class: "bag" }),
  ],
};

const SIGNS = {
  place: ["M24 6c-7.500 0-13 5.500-13 12.500C11 28 24 42 24 42s13-14 13-23.500C37 11.500 31.500 6 24 6z", "M24 18.400v.2"],
  service: ["M12 9h6l3 8-4 3c2 4 5 7 9 9l3-4 8 3v6c0 2-2 4-4 4C20 37 10 26 9 13c0-2 1-4 3-4z", ""],
  hold: ["M17 6h14l10 10v14L31 40H17L7 30V16z", "M24 14v11M24 31.500v.5"],
};

/** The drawing for a container's name, or a plain sign where the answer is no container. */
export function swatch(container, kind) {
  let parts;
  if (container) {
    const { shape, body, lid } = look(container);
    parts = SHAPES[shape](body, lid);
  } else if (kind === "bin") {
    parts = SHAPES.bin("plain", "plain");
  } else {
    const [outline, inner] = SIGNS[kind] || SIGNS.place;
    parts = [svg("path", { d: outline, class: "sign" }), inner && svg("path", { d: inner, class: "sign-inner" })];
  }
  return svg("svg", { viewBox: "3 2 42 45", class: "swatch", "aria-hidden": "true", focusable: "false" }, parts);
}
