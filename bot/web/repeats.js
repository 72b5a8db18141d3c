// An answer comes twice: as text and as items. The cards show the items; this hands each card what only the
// text says about its item, so that nothing is read twice and nothing is lost. In doubt a sentence is kept.

const SMALL = new Set((
  "a an and also any are as at be beside by can do does for from go goes going has have here i in inside into is it its " +
  "just nowhere of on or other our please put so take that the their them then there these they thing this those to too " +
  "up use we which will with yet you your option options alternatively instead because reason why step steps rule source bin " +
  "place container waste go's"
).split(" "));

const WEIGHTY = /\b(if|unless|assum\w*|not|no|never|until|from|when|after|before|sure|unsure|careful|cautious|may|might|only|n't)\b|n't|n’t|\?/i;
const CAREFUL = /\bcareful answer\b|\bnot (be )?sure\b/i;
const NO_RULE = /\b(not in (our|the) rules|(not have a|no) rule)\b/i;

function plain(text) {
  return text.toLowerCase().replace(/[’']/g, "").replace(/[^a-z0-9]+/g, " ").trim();
}

function stem(word) {
  return word.replace(/ies$/, "y").replace(/(s|x|z|ch|sh)es$/, "$1").replace(/([^s])s$/, "$1");
}

function heavy(text) {
  return plain(text).split(" ").filter((word) => word && !SMALL.has(word)).map(stem);
}

function shownBy(strings) {
  return { text: ` ${strings.map(plain).join(" | ")} `, words: new Set(strings.flatMap(heavy)) };
}

function said(sentence, shown) {
  const bare = plain(sentence).replace(/^(in|to|on) (the|your|a|an) /, "");
  if (!bare) return true;
  if (shown.text.includes(` ${bare} `)) return true;
  if (WEIGHTY.test(sentence)) return false;
  return heavy(sentence).every((word) => shown.words.has(word));
}

export function sentences(text) {
  return text.replace(/([.!?])\s+/g, "$1\n").split("\n").map((one) => one.trim()).filter(Boolean);
}

/** Whether a name says no more than the resident's own words for the thing. */
export function sameThing(name, asked) {
  const words = new Set(heavy(asked));
  return heavy(name).every((word) => words.has(word));
}

function without(text, string) {
  const start = text.indexOf(string);
  if (start < 0) return text;
  const before = text.slice(0, start).replace(/\b[A-Z][a-z]+(?: [a-z]+)?: $/, "");
  return before + "\n" + text.slice(start + string.length);
}

function owns(item, paragraph) {
  const told = [item.why, item.caution].filter(Boolean);
  if (told.length) return told.every((string) => paragraph.includes(string));
  return plain(paragraph).includes(plain(item.asked_as || item.item || "?"));
}

function nothing() {
  return { name: "", careful: false, intro: [], extra: [], others: [] };
}

/** What a paragraph says of an item beside the strings its card shows. */
function beside(paragraph, item, strings) {
  const more = nothing();
  more.careful = CAREFUL.test(paragraph);
  let text = paragraph;
  for (const string of [item.caution, item.why, ...item.prepare].filter(Boolean)) text = without(text, string);
  const shown = shownBy(strings);
  const [lead, ...rest] = text.split("\n");
  sentences(lead).forEach((sentence, index) => {
    const label = /^([^:]+):\s+(.+)$/.exec(sentence);
    if (label && said(label[2], shown)) {
      const short = label[1].split(" ").length <= 7 && !label[1].includes(",") && !WEIGHTY.test(label[1]);
      if (!short) more.intro.push(label[1] + ".");
      else if (index === 0 && item.item) more.name = label[1];
    } else if (NO_RULE.test(sentence) && NO_RULE.test(item.why || "")) {
      // The reason on the card says it already.
    } else if (!other(sentence, item, more) && !said(sentence, shown)) {
      more[sentence.endsWith("?") ? "extra" : "intro"].push(sentence);
    }
  });
  for (const sentence of rest.flatMap(sentences)) {
    if (!other(sentence, item, more) && !said(sentence, shown)) more.extra.push(sentence);
  }
  return more;
}

/** Takes the sentence that names the alternatives, if it names as many as the item has. */
function other(sentence, item, more) {
  const found = /^Or: (.+?)\.?$/.exec(sentence);
  if (!found || more.others.length) return false;
  const named = found[1].split(/;\s+or\s+/);
  if (named.length !== item.alternatives.length) return false;
  more.others = named;
  return true;
}

/**
 * The texts of a reply, shared out: `each` has one entry per item, in order, and `rest` the paragraphs that
 * belong to none of them. `strings` gives what the card of an item shows.
 */
export function share(texts, items, strings, alsoShown = []) {
  const left = texts.join("\n\n").split(/\n{2,}/).map((one) => one.trim()).filter(Boolean);
  const each = items.map((item) => {
    const at = left.findIndex((paragraph) => owns(item, paragraph));
    if (at < 0) return nothing();
    const [paragraph] = left.splice(at, 1);
    return beside(paragraph, item, strings(item));
  });
  if (!items.length) return { each, rest: left };
  const shown = shownBy([...items.flatMap(strings), ...alsoShown]);
  const rest = left
    .map((paragraph) => sentences(paragraph).filter((sentence) => !said(sentence, shown)).join(" "))
    .filter(Boolean);
  return { each, rest };
}

/** What an emergency's text says beside its heading, reason and steps. */
export function unsaid(texts, strings) {
  const shown = shownBy(strings);
  let text = texts.join("\n");
  for (const string of strings) text = without(text, string);
  return sentences(text.replace(/\n/g, " ")).filter((sentence) => !said(sentence, shown));
}
