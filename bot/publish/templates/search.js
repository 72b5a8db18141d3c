// Puts the search on the page. Without it the whole list is there.
(() => {
  const MOST = 40;
  const by = (id) => document.getElementById(id);
  const rows = [...document.querySelectorAll("#list .item")];
  const items = rows.map((row) => ({
    id: row.id,
    names: [row.querySelector("dt").firstChild.data, ...row.dataset.also.split("|")].filter(Boolean).map(fold),
  }));
  const list = by("found").querySelector("dl");
  let soon = 0;

  function show() {
    const text = by("query").value.trim();
    const searching = text !== "";
    const ids = searching ? find(items, text) : [];
    list.replaceChildren(...ids.slice(0, MOST).map((id) => {
      const copy = by(id).cloneNode(true);
      copy.removeAttribute("id");
      return copy;
    }));
    by("clear").hidden = !searching;
    by("found").hidden = !ids.length;
    by("all").hidden = searching;
    if (!searching) by("told").textContent = "";
    else if (!ids.length) by("told").textContent = "Nothing found. Try another name for it, or one word.";
    else by("told").textContent = ids.length === 1 ? "1 thing found." : `${ids.length} things found.${ids.length > MOST ? ` The first ${MOST} are shown.` : ""}`;
  }

  by("search").hidden = false;
  by("search").addEventListener("submit", (event) => { event.preventDefault(); show(); });
  by("query").addEventListener("input", () => { clearTimeout(soon); soon = setTimeout(show, 120); });
  by("clear").addEventListener("click", () => { by("query").value = ""; show(); by("query").focus(); });
  globalThis.lidwise = { items, find };
  show();
})();
