// The chat on a page of its own: what the address presets, and what the page tells of the scheme.

import { mount } from "./chat.js";
import { el } from "./dom.js";
import { longDate } from "./words.js";

const byId = (id) => document.getElementById(id);

/** What the address says. A question and a district are taken out of it, so that a reload asks nothing again. */
function preset() {
  const query = new URLSearchParams(location.search);
  const found = { on: longDate(query.get("on")) ? query.get("on") : null, q: query.get("q") || "", district: query.get("district") };
  query.delete("q");
  query.delete("district");
  if (!found.on) query.delete("on");
  const rest = query.toString();
  history.replaceState(null, "", location.pathname + (rest ? "?" + rest : "") + location.hash);
  return found;
}

function showScheme({ scheme: { name, phone, hours, web } = {} }) {
  if (name) byId("scheme-name").textContent = name;
  if (!phone) return;
  const dial = "tel:" + phone.replace(/\s/g, "");
  byId("scheme-phone").textContent = phone;
  byId("scheme-phone").href = dial;
  const site = typeof web === "string" && web.startsWith("https://")
    ? [" Or see ", el("a", { href: web, rel: "noopener noreferrer" }, web.replace("https://", "")), "."]
    : [];
  byId("scheme-more").replaceChildren("For anything else, ring the contact centre on ",
    el("a", { href: dial }, phone), hours ? `. It is open ${hours}.` : ".", ...site);
}

const { on, q, district } = preset();
const chat = mount(byId("chat-place"), { on, district, force: true, scheme: showScheme });

byId("as-on").hidden = !on;
byId("as-on-text").textContent = on ? `Answers as on ${longDate(on)}.` : "";
byId("as-on-more").textContent = "Today’s rules may differ.";
byId("as-on-drop").addEventListener("click", () => {
  chat.setDay(null);
  history.replaceState(null, "", location.pathname);
  byId("as-on").hidden = true;
  chat.note("Answers now follow today’s rules.");
  chat.focus();
});

byId("skip").addEventListener("click", (event) => {
  event.preventDefault();
  chat.focus();
});

chat.ready.then(() => {
  document.documentElement.dataset.ready = "";
  if (q) chat.ask(q);
});
