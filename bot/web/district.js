// The resident's district: asked for once, shown, and changed at will.

import { el } from "./dom.js";
import { capital } from "./words.js";

const PATIENCE = 4000;

/**
 * `state()` gives the chat's state. `changed(id)` is called when the resident picks another one, `done()` when the
 * form is closed, `scheme(loaded)` with what the server tells about the scheme.
 */
export function districtChoice({ parts, base, state, save, changed, done, scheme }) {
  let districts = [];

  function name(id) {
    const known = districts.find((district) => district.id === id);
    return known ? known.name : capital(id);
  }

  function fill() {
    const { district, districtAsked } = state();
    const choice = (value, label) => el("label", { class: "choice" },
      el("input", { type: "radio", name: "district", value, required: true, checked: districtAsked && (district || "") === value }),
      el("span", {}, label));
    parts["district-choices"].replaceChildren(...districts.map((one) => choice(one.id, one.name)), choice("", "I don’t know"));
  }

  function show(open = !state().districtAsked) {
    parts["district-form"].hidden = !open;
    parts["district-set"].hidden = open;
    parts["district-now"].textContent = state().district ? name(state().district) : "Not sure. I will ask if it matters.";
  }

  const checked = () => parts["district-choices"].querySelector("input:checked");

  /** What is picked in the open form; undefined where nothing is or the form is closed. */
  function picked() {
    const found = parts["district-form"].hidden ? null : checked();
    return found ? found.value || null : undefined;
  }

  function set(id) {
    const another = state().districtAsked && id !== state().district;
    state().district = id;
    state().districtAsked = true;
    fill();
    show();
    save();
    if (another) changed(id);
  }

  async function load() {
    const stop = new AbortController();
    const end = setTimeout(() => stop.abort(), PATIENCE);
    let loaded = null;
    try {
      const response = await fetch(base + "/api/districts", { headers: { accept: "application/json" }, credentials: "omit", signal: stop.signal });
      if (response.ok) loaded = await response.json();
    } catch {
      loaded = null;
    } finally {
      clearTimeout(end);
    }
    const failed = !loaded || !Array.isArray(loaded.districts);
    parts["district-trouble"].hidden = !failed;
    parts["district-again"].hidden = !failed;
    parts["district-save"].hidden = failed;
    parts["district-choices"].hidden = failed;
    if (!failed) {
      ({ districts } = loaded);
      scheme(loaded);
    }
    fill();
    show(!state().districtAsked);
  }

  parts["district-form"].addEventListener("submit", (event) => {
    event.preventDefault();
    set(picked() || null);
    done();
  });
  parts["district-change"].addEventListener("click", () => {
    fill();
    show(true);
    const first = checked() || parts["district-choices"].querySelector("input");
    if (first) first.focus();
  });
  parts["district-again"].addEventListener("click", load);
  addEventListener("online", () => { if (!districts.length) load(); });

  return { load, set, name, picked, knows: (id) => districts.some((district) => district.id === id) };
}
