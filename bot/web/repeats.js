// An answer comes twice: as text and as items. The cards show the items; this keeps of the text only what
// the cards do not say, so that nothing is read twice and nothing is lost. In doubt a sentence is kept.

const SMALL = new Set((
  "a an and also any are as at be beside by can do does for from go goes going has have here i in inside into is it its " +
  "just of on or other our please put so take that the their them then there these they thing this those to too up use " +
  "we will with you your option options alternatively instead because reason why step steps rule source bin place " +
  "container waste go's"
).split(" "));

const WEIGHTY = /\b(if|unless|assum\w*|not|no|never|until|from|when|after|before|sure|unsure|careful|cautious|may|might|only|n't)\b|n't|n’t|\?/i;

function plain(text) {
  return text.toLowerCase().replace(/[’']/g, "").replace(/[^a-z0-9]+/g, " ").trim();
}

function stem(word) {
  return word.replace(/(es|s)$/, "");
}

function heavy(text) {
  return plain(text).split(" ").filter((word) => word && !SMALL.has(word)).map(stem);
}

function said(sentence, shown) {
  const bare = plain(sentence);
  if (!bare) return true;
  if (shown.text.includes(` ${bare} `)) return true;
  const label = /^[^:.]{1,60}:\s+/.exec(sentence);
  if (label && heavy(label[0]).every((word) => shown.words.has(word))) {
    const rest = sentence.slice(label[0].length);
    if (rest.trim() && said(rest, shown)) return true;
  }
  if (WEIGHTY.test(sentence)) return false;
  return heavy(sentence).every((word) => shown.words.has(word));
}

/** The part of `text` that is not already in `shown`, a list of the strings on the cards. */
export function unsaid(text, shown) {
  if (!shown.length) return text;
  const all = {
    text: ` ${shown.map(plain).join(" | ")} `,
    words: new Set(shown.flatMap(heavy)),
  };
  const lines = text.split("\n").map((line) => {
    const bullet = /^\s*(?:[-*•]|\d+\.)\s+/.exec(line);
    const body = bullet ? line.slice(bullet[0].length) : line;
    const kept = body.replace(/([.!?])\s+/g, "$1\n").split("\n").filter((sentence) => !said(sentence, all));
    return kept.length ? (bullet ? bullet[0] : "") + kept.join(" ") : "";
  });
  return lines
    .filter((line, index) => !(line.trim().endsWith(":") && !(lines[index + 1] || "").trim()))
    .join("\n")
    .trim();
}
