// The resident's chat page: sends what is typed, keeps the conversation, and shows the replies.

import { showReply } from "./cards.js";
import { el } from "./dom.js";
import { fromPerson, personButton } from "./person-button.js";
import * as store from "./store.js";
import { longDate } from "./words.js";

const LIMIT = 1000;
const COUNT_FROM = 850;
const SLOW = 8000;
const GIVE_UP = 60000;
const PATIENCE = 4000;

const byId = (id) => document.getElementById(id);
const log = byId("log");
const input = byId("message");
const waiting = byId("waiting");

let state = store.load();
let districts = [];
let on = null;
let busy = false;
const nodes = new Map();

// ---- the address's presets

function readAddress() {
  const query = new URLSearchParams(location.search);
  const day = query.get("on");
  if (longDate(day)) on = day;
  if (query.get("q")) state.draft = [...query.get("q")].slice(0, LIMIT).join("");
  const district = query.get("district");
  query.delete("q");
  query.delete("district");
  if (!on) query.delete("on");
  const rest = query.toString();
  history.replaceState(null, "", location.pathname + (rest ? "?" + rest : "") + location.hash);
  return district;
}

function showAsOn() {
  byId("as-on").hidden = !on;
  if (!on) return;
  byId("as-on-text").textContent = `Answers as on ${longDate(on)}.`;
  byId("as-on-more").textContent = "Today’s rules may differ.";
}

byId("as-on-drop").addEventListener("click", () => {
  on = null;
  history.replaceState(null, "", location.pathname);
  showAsOn();
  note("Answers now follow today’s rules.");
  input.focus();
});

// ---- the district

function districtName(id) {
  const known = districts.find((district) => district.id === id);
  return known ? known.name : id.charAt(0).toUpperCase() + id.slice(1);
}

function fillDistricts() {
  const choice = (value, label) => el("label", { class: "choice" },
    el("input", { type: "radio", name: "district", value, required: true, checked: state.districtAsked && (state.district || "") === value }),
    el("span", {}, label));
  byId("district-choices").replaceChildren(
    ...districts.map(({ id, name }) => choice(id, name)), choice("", "I don’t know"));
}

function showDistrict(open = !state.districtAsked) {
  byId("district-form").hidden = !open;
  byId("district-set").hidden = open;
  byId("district-now").textContent = state.district
    ? districtName(state.district)
    : "Not sure. I will ask if it matters.";
}

function pickedDistrict() {
  const picked = document.querySelector("input[name=district]:checked");
  return picked ? picked.value || null : undefined;
}

function setDistrict(id) {
  const changed = state.districtAsked && id !== state.district;
  state.district = id;
  state.districtAsked = true;
  fillDistricts();
  showDistrict();
  if (changed && state.turns.length) {
    note(id ? `New answers are for ${districtName(id)}.` : "New answers are for any district.");
  }
  store.save(state);
}

byId("district-form").addEventListener("submit", (event) => {
  event.preventDefault();
  setDistrict(pickedDistrict());
  input.focus();
});

byId("district-change").addEventListener("click", () => {
  fillDistricts();
  showDistrict(true);
  const first = document.querySelector("input[name=district]:checked") || document.querySelector("input[name=district]");
  if (first) first.focus();
});

byId("district-again").addEventListener("click", loadDistricts);

async function loadDistricts() {
  let loaded = null;
  const stop = new AbortController();
  const end = setTimeout(() => stop.abort(), PATIENCE);
  try {
    const response = await fetch("/api/districts", { headers: { accept: "application/json" }, signal: stop.signal });
    if (response.ok) loaded = await response.json();
  } catch {
    loaded = null;
  } finally {
    clearTimeout(end);
  }
  const failed = !loaded || !Array.isArray(loaded.districts);
  byId("district-trouble").hidden = !failed;
  byId("district-again").hidden = !failed;
  byId("district-save").hidden = failed;
  if (!failed) {
    districts = loaded.districts;
    if (loaded.today && on === loaded.today) on = null;
    showScheme(loaded.scheme || {});
  }
  fillDistricts();
  byId("district-choices").hidden = failed;
  return !failed;
}

function showScheme({ name, phone, hours, web }) {
  if (name) byId("scheme-name").textContent = name;
  if (!phone) return;
  const call = () => el("a", { href: "tel:" + phone.replace(/\s/g, "") }, phone);
  const number = byId("scheme-phone");
  number.textContent = phone;
  number.href = "tel:" + phone.replace(/\s/g, "");
  const site = typeof web === "string" && web.startsWith("https://")
    ? [" Or see ", el("a", { href: web, rel: "noopener noreferrer" }, web.replace("https://", "")), "."]
    : [];
  byId("scheme-more").replaceChildren(
    "For anything else, ring the contact centre on ", call(), hours ? `. It is open ${hours}.` : ".", ...site);
}

// ---- the log

function newId() {
  return Date.now().toString(36) + Math.random().toString(36).slice(2, 7);
}

function add(turn) {
  state.turns.push(turn);
  store.save(state);
  place(turn, true);
}

function note(text) {
  add({ id: newId(), from: "note", text });
}

function lastAsking() {
  for (let index = state.turns.length - 1; index >= 0; index -= 1) {
    if (state.turns[index].from === "me") return null;
    if (state.turns[index].from === "bot") return state.turns[index];
  }
  return null;
}

function draw(turn, fresh) {
  if (turn.from === "person") return fromPerson(turn);
  if (turn.from === "bot") {
    return showReply(turn.messages, { choose, districtName, fresh, open: turn === lastAsking() });
  }
  if (turn.from === "note") return el("p", { class: "turn note" }, turn.text);
  return el("div", { class: "turn me", tabindex: "-1" },
    el("p", { class: "bubble" }, el("span", { class: "unseen" }, "You: "), turn.text),
    turn.trouble ? unsent(turn) : null);
}

function unsent(turn) {
  return el("div", { class: "unsent" },
    el("p", {}, el("strong", {}, turn.trouble.label), " ", turn.trouble.text),
    el("button", { type: "button", class: "quiet", onclick: () => { retry(turn); input.focus(); } }, "Try again"));
}

function place(turn, fresh) {
  const node = draw(turn, fresh);
  const old = nodes.get(turn.id);
  if (old) old.replaceWith(node);
  else log.append(node);
  nodes.set(turn.id, node);
  showEmptiness();
}

function showEmptiness() {
  byId("clear").hidden = !state.turns.length;
  byId("examples").hidden = state.turns.some((turn) => turn.from === "me");
}

function drawAll() {
  // What is put back after a reload was read out once already.
  log.setAttribute("aria-live", "off");
  nodes.clear();
  log.replaceChildren();
  for (const turn of state.turns) place(turn, false);
  showEmptiness();
  setTimeout(() => log.removeAttribute("aria-live"), 500);
}

function closeChoices() {
  for (const button of log.querySelectorAll(".options button")) button.disabled = true;
}

function bring(node, edge) {
  const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
  node.scrollIntoView({ block: edge, behavior: calm ? "auto" : "smooth" });
}

function showEnd(node) {
  const room = innerHeight - byId("composer").offsetHeight - 24;
  const before = node.previousElementSibling;
  const tall = node.offsetHeight + (before ? before.offsetHeight : 0) > room;
  bring(tall && before ? before : node, tall ? "start" : "end");
}

// ---- a person instead of the assistant

const human = personButton({
  button: byId("person"), input, conversation: () => state, note,
  show: (turn) => add({ id: newId(), ...turn }), end: () => showEnd(log.lastElementChild),
});

// ---- sending

function say(text, payload = text) {
  const asking = lastAsking();
  const carrier = asking && asking.messages.find((message) => message.custom);
  const picked = byId("district-form").hidden ? undefined : pickedDistrict();
  if (picked !== undefined) setDistrict(picked);
  closeChoices();
  const asks = carrier && carrier.custom.asks;
  add({ id: newId(), from: "me", text, payload, waits: true, toDistrict: Boolean(asks && asks.condition === "district") });
  pump();
}

function choose(option, button) {
  button.classList.add("chosen");
  say(option.title, option.payload);
  if (matchMedia("(pointer: coarse)").matches) log.lastElementChild.focus({ preventScroll: true });
  else input.focus();
}

function retry(turn) {
  turn.waits = true;
  turn.trouble = null;
  place(turn, true);
  pump();
}

function wait(text, slow) {
  if (!text) return waiting.replaceChildren();
  waiting.replaceChildren(el("span", { class: "dots", "aria-hidden": "true" }, el("i"), el("i"), el("i")),
    el("span", { class: slow ? "slow" : null }, text));
  bring(waiting, "end");
}

async function ask(turn) {
  const stop = new AbortController();
  const late = setTimeout(() => wait("This is taking longer than usual. I am still looking.", true), SLOW);
  const end = setTimeout(() => stop.abort(), GIVE_UP);
  const metadata = { channel: "webchat" };
  if (state.district) metadata.district = state.district;
  if (on) metadata.on = on;
  try {
    const response = await fetch("/webhooks/rest/webhook", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ sender: state.sender, message: turn.payload, metadata }),
      signal: stop.signal,
    });
    if (response.status === 429) return { trouble: "Too many messages came at once. Wait a moment." };
    if (!response.ok) return { trouble: "The service has a problem." };
    const messages = await response.json();
    if (!Array.isArray(messages) || !messages.length) return { label: "Not answered.", trouble: "No answer came back." };
    return { messages };
  } catch {
    if (stop.signal.aborted) return { label: "Not answered.", trouble: "No answer came in time." };
    return navigator.onLine
      ? { trouble: "The service cannot be reached." }
      : { trouble: "You are offline. It goes out when you are back online." };
  } finally {
    clearTimeout(late);
    clearTimeout(end);
  }
}

function tidy({ text, buttons, custom }) {
  const kept = {};
  if (typeof text === "string") kept.text = text;
  if (Array.isArray(buttons)) kept.buttons = buttons;
  if (custom && typeof custom === "object") kept.custom = custom;
  return kept;
}

async function pump() {
  if (busy) return;
  busy = true;
  for (let turn; (turn = state.turns.find((one) => one.waits));) {
    const conversation = state.sender;
    wait("Looking it up…");
    const result = await human.say(turn.payload) || await ask(turn);
    wait("");
    // The chat was cleared while the answer was on its way.
    if (state.sender !== conversation) continue;
    turn.waits = false;
    if (result.trouble) {
      turn.trouble = { label: result.label || "Not sent.", text: result.trouble };
      place(turn, true);
      showEnd(nodes.get(turn.id));
    } else {
      const messages = result.messages.map(tidy);
      const carrier = messages.find((message) => message.custom);
      if (turn.toDistrict && !state.district && carrier && districts.some(({ id }) => id === carrier.custom.district)) {
        setDistrict(carrier.custom.district);
      }
      const reply = { id: newId(), from: "bot", messages };
      closeChoices();
      if (messages.length) {
        add(reply);
        showEnd(nodes.get(reply.id));
        human.offer(carrier, nodes.get(reply.id));
      }
    }
    store.save(state);
  }
  busy = false;
}

addEventListener("online", () => {
  for (const turn of state.turns.filter((one) => one.trouble)) retry(turn);
});

// ---- the message box

function showCount() {
  const left = LIMIT - [...input.value].length;
  const text = left < 0 ? `${-left} characters too many` : left <= LIMIT - COUNT_FROM ? `${left} characters left` : "";
  byId("count").textContent = text;
  byId("composer").classList.toggle("over", left < 0);
  if (left < 0) input.setAttribute("aria-invalid", "true");
  else input.removeAttribute("aria-invalid");
  clearTimeout(showCount.later);
  showCount.later = setTimeout(() => { byId("count-said").textContent = text; }, 800);
  return left >= 0;
}

function fit() {
  input.style.height = "auto";
  input.style.height = Math.min(input.scrollHeight + 4, 160) + "px";
}

input.addEventListener("input", () => {
  state.draft = input.value;
  store.save(state);
  showCount();
  fit();
});

input.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || event.shiftKey || event.isComposing) return;
  event.preventDefault();
  byId("composer").requestSubmit();
});

byId("composer").addEventListener("submit", (event) => {
  event.preventDefault();
  const text = input.value.trim();
  input.focus();
  if (!text || !showCount()) return;
  input.value = "";
  state.draft = "";
  showCount();
  fit();
  say(text);
});

byId("examples").addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  say(button.textContent);
  input.focus();
});

byId("clear").addEventListener("click", () => byId("clear-ask").showModal());
byId("clear-ask").addEventListener("close", () => {
  const dialog = byId("clear-ask");
  if (dialog.returnValue === "clear") {
    human.leave();
    state = store.cleared(state);
    store.save(state);
    input.value = "";
    showCount();
    fit();
    drawAll();
    wait("");
    input.focus();
  }
  dialog.returnValue = "";
});

new ResizeObserver(() => {
  document.documentElement.style.setProperty("--composer", byId("composer").offsetHeight + "px");
}).observe(byId("composer"));

// ---- start

async function start() {
  const preset = readAddress();
  for (const turn of state.turns.filter((one) => one.waits)) {
    turn.waits = false;
    turn.trouble = { label: "Not answered.", text: "The page was closed before the answer came." };
  }
  byId("app").hidden = false;
  await loadDistricts();
  if (districts.some(({ id }) => id === preset)) {
    state.district = preset;
    state.districtAsked = true;
    fillDistricts();
  }
  showDistrict();
  showAsOn();
  drawAll();
  input.value = state.draft;
  showCount();
  fit();
  store.save(state);
  human.restore();
  if (state.turns.length) showEnd(log.lastElementChild);
  if (state.draft) input.focus({ preventScroll: true });
}

start();
