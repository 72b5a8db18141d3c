// Our style sheets as a shadow root takes them: constructed, so that the page around needs to allow no styles of ours.

/** Loads the sheets. A `rem` would be the page's own size of letters; ours is the reader's, in `--rem`. */
export async function sheets(base, names) {
  return Promise.all(names.map(async (name) => {
    const response = await fetch(`${base}/web/${name}`, { credentials: "omit" });
    if (!response.ok) throw new Error(`${name}: ${response.status}`);
    const text = await response.text();
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(text.replace(/(?<![\w.-])(-?\d*\.?\d+)rem\b/g, "calc($1 * var(--rem))"));
    return sheet;
  }));
}
