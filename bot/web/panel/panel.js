// The agents' panel: wires the search box, the decision table, the assistant, the chats and the keys.

import { el } from "/web/dom.js";
import { longDate } from "/web/words.js";
import { allDistricts, caller, districtName, keep, nextCaller, setDistricts } from "./caller.js";
import { chats } from "./chats.js";
import { setTexting } from "./doing.js";
import { finder } from "./finder.js";
import { announce, showItem } from "./item.js";
import { keys } from "./keys.js";
import { ask, setToken } from "./server.js";
import { session } from "./session.js";
import { talk } from "./talk.js";

const byId = (id) => document.getElementById(id);
const wide = matchMedia("(min-width: 56rem)");
let today = "";
let shown = null;

function say(text) {
  byId("said").textContent = text;
}

function fail(error) {
  byId("trouble").textContent = error.message;
  byId("trouble").hidden = false;
}

function fine() {
  byId("trouble").hidden = true;
}

// ---- the item

let opening = 0;

async function open(item, focus = true) {
  const mine = ++opening;
  fine();
  try {
    const query = new URLSearchParams({ on: caller.on || today });
    if (caller.district) query.set("district", caller.district);
    const data = await ask(`/panel/api/item/${encodeURIComponent(item)}?${query}`);
    if (mine !== opening) return;
    shown = item;
    byId("empty").hidden = true;
    const first = showItem(byId("item"), data, (day) => setDay(day));
    say(announce(data));
    if (focus) {
      if (!wide.matches) byId("item").scrollIntoView({ block: "start" });
      first.focus({ preventScroll: !wide.matches });
    }
  } catch (error) {
    fail(error);
  }
}

// ---- district and day

function drawDistricts() {
  const choice = (value, label) => el("label", { class: "segment" },
    el("input", { type: "radio", name: "district", value, checked: caller.district === value }), el("span", {}, label));
  byId("districts").replaceChildren(...allDistricts().map(({ id, name }) => choice(id, name)), choice("", "Not known"));
}

byId("districts").addEventListener("change", (event) => {
  keep({ district: event.target.value });
  say(caller.district ? `Answers are for ${districtName(caller.district)}.` : "The district is not known.");
  if (shown) open(shown, false);
});

function setDay(day) {
  if (!longDate(day)) return;
  keep({ on: day === today ? "" : day });
  byId("on").value = day;
  byId("as-on").hidden = !caller.on;
  byId("as-on").replaceChildren(el("span", {}, `Answers as on ${longDate(day)}, not today.`),
    el("button", { type: "button", class: "quiet", onclick: () => { setDay(today); byId("find").focus(); } }, "Today"));
  say(caller.on ? `Answers as on ${longDate(day)}.` : "Answers as on today.");
  if (shown) open(shown, false);
}

byId("on").addEventListener("change", () => setDay(byId("on").value || today));

// ---- the parts

const assistant = talk({ open: (item) => open(item), fail });
const search = finder({
  open: (item) => open(item),
  question: (text) => { fine(); assistant.say(text); },
  say,
  fail,
});

function next() {
  nextCaller();
  opening += 1;
  shown = null;
  byId("item").hidden = true;
  byId("item").replaceChildren();
  byId("empty").hidden = false;
  assistant.clear();
  search.clear();
  fine();
  drawDistricts();
  setDay(today);
  showChats(false);
  search.focus();
  say("Cleared for the next caller.");
}

function showChats(wanted) {
  const visible = wanted || wide.matches;
  byId("chats").hidden = !visible;
  byId("look").hidden = visible && !wide.matches;
  byId("to-chats").setAttribute("aria-expanded", String(visible));
}

function toChats() {
  if (!wide.matches && !byId("chats").hidden) {
    showChats(false);
    search.focus();
  } else {
    showChats(true);
    byId("chats-name").focus();
  }
}

byId("next").addEventListener("click", next);
byId("to-chats").addEventListener("click", toChats);
wide.addEventListener("change", () => showChats(false));

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape" || event.defaultPrevented || document.querySelector("dialog[open]")) return;
  if (event.target.id === "find" || event.target.closest("#chat-form")) return;
  showChats(false);
  search.focus();
});

/** The button of the answer the agent is at: the one around the focus, else the item's, else the last reply's. */
function press(name) {
  const here = document.activeElement.closest(".reply, .readout");
  const place = here || (byId("item").hidden ? [...document.querySelectorAll(".reply")].pop() : document.querySelector(".readout"));
  const button = place && place.querySelector(`[data-key="${name}"]`);
  if (button) button.click();
  else say("There is no answer yet.");
}

keys([
  ["KeyL", "L", "Caller’s district", () => { showChats(false); document.querySelector("input[name=district]:checked").focus(); }],
  ["KeyC", "C", "Copy the answer", () => press("copy")],
  ["KeyM", "M", "Send it by text message", () => press("text")],
  ["KeyW", "W", "Wrong or missing", () => press("remark")],
  ["KeyH", "H", "Chats", toChats],
  ["KeyN", "N", "Next caller", next],
]);

async function start() {
  showChats(false);
  try {
    const told = await ask("/panel/api/start");
    setToken(told.token);
    setDistricts(told.districts);
    setTexting(told.texting);
    today = told.today;
    if (caller.district && !told.districts.some(({ id }) => id === caller.district)) keep({ district: "" });
    byId("who").textContent = `Signed in as ${told.name}.`;
    drawDistricts();
    setDay(caller.on || today);
    say("");
    session();
    chats().follow();
    document.body.dataset.ready = "yes";
    search.focus();
  } catch (error) {
    fail(error);
  }
}

start();
