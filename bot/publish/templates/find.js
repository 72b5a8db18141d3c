"use strict";
// Finds items by any of their names, in the plural, half typed, or with a slip.

/** Words in small plain letters, each in the singular. */
function fold(text) {
  const plain = text.toLowerCase().normalize("NFD").replace(/[\u0300-\u036f'’]/g, "");
  return plain.split(/[^a-z0-9]+/).filter(Boolean).map(single);
}

function single(word) {
  if (word.length < 4 || /(ss|us|is)$/.test(word)) return word;
  if (/ies$/.test(word)) return word.slice(0, -3) + (word.length > 4 ? "y" : "ie");
  if (/(ch|sh|x|ss|zz)es$/.test(word)) return word.slice(0, -2);
  if (/[^aeiou]oes$/.test(word)) return word.slice(0, -2);
  if (/(kni|lea|shel|hal|cal|loa|wol)ves$/.test(word)) {
    return word.slice(0, -3) + (/nives$/.test(word) ? "fe" : "f");
  }
  return word.replace(/s$/, "");
}

/** How many slips turn one word into the other: a letter wrong, missing, too many, or two swapped. */
function slips(a, b, most) {
  if (Math.abs(a.length - b.length) > most) return most + 1;
  let before = [];
  let last = Array.from({ length: b.length + 1 }, (_, i) => i);
  for (let i = 1; i <= a.length; i += 1) {
    const row = [i];
    for (let j = 1; j <= b.length; j += 1) {
      const cost = a[i - 1] === b[j - 1] ? 0 : 1;
      row[j] = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + cost);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) {
        row[j] = Math.min(row[j], before[j - 2] + 1);
      }
    }
    if (Math.min(...row) > most) return most + 1;
    before = last;
    last = row;
  }
  return last[b.length];
}

/** How badly a typed word fits a word of a name: 0 the same, more for a start or a slip, or nothing. */
function misfit(typed, word) {
  if (typed === word) return 0;
  if (typed.length > 1 && word.startsWith(typed)) return 1;
  const most = typed.length < 4 ? 0 : typed.length < 8 ? 1 : 2;
  const wrong = slips(typed, word, most);
  return wrong <= most ? 2 + wrong : null;
}

/** How badly a query fits a name, or nothing if a word of it fits none. `fits` is as `misfit`. */
function distance(query, name, fits) {
  if (query.join("") === name.join("")) return 0;
  const most = query.join("").length < 8 ? 1 : 2;
  let sum = 0;
  const left = [...name];
  for (const typed of query) {
    let best = null;
    let at = -1;
    left.forEach((word, i) => {
      const cost = fits(typed, word);
      if (cost !== null && (best === null || cost < best)) [best, at] = [cost, i];
    });
    if (best === null) {
      const whole = slips(query.join(""), name.join(""), most);
      return query.join("").length > 4 && whole <= most ? 4 + 4 * whole : null;
    }
    sum += best * 4;
    left.splice(at, 1);
  }
  return sum + left.length + 1;
}

/** Ids of the items that fit a query, the best first. `items` are {id, names: folded names}. */
function find(items, text) {
  const query = fold(text);
  if (!query.length) return [];
  const found = [];
  const known = new Map();
  const fits = (typed, word) => {
    const key = `${typed} ${word}`;
    if (!known.has(key)) known.set(key, misfit(typed, word));
    return known.get(key);
  };
  items.forEach((item, order) => {
    let best = null;
    item.names.forEach((name, i) => {
      const cost = distance(query, name, fits);
      if (cost !== null && (best === null || cost + (i ? 0.5 : 0) < best)) best = cost + (i ? 0.5 : 0);
    });
    if (best !== null) found.push({ id: item.id, best, order });
  });
  found.sort((a, b) => a.best - b.best || a.order - b.order);
  const close = found.filter((f) => f.best < 8);
  return (close.length ? close : found).map((f) => f.id);
}
