// A phone on a page: sends each text to the server's simulator and shows what a phone would get.

import { el } from "./dom.js";

const find = (id) => document.getElementById(id);
const thread = find("thread");
const words = find("words");
const number = find("number");
const trouble = find("trouble");
const ENTER = "Enter sends.";

let from = number.value.trim();
let queue = Promise.resolve();

function counted(size) {
  if (!size.messages) return "empty message";
  const unit = size.length === 1 ? "character" : "characters";
  const parts = size.messages === 1 ? "1 message" : `${size.messages} parts, joined`;
  return `${size.length} ${unit}, ${parts}` + (size.alphabet === "UCS-2" ? ", wide letters" : "");
}

function show(who, text, below) {
  const said = el("span", { class: "unseen" }, who === "mine" ? "You: " : "Reply: ");
  const meta = el("p", { class: "meta" }, below);
  thread.append(el("div", { class: `message ${who}` }, el("p", { class: "bubble" }, said, text), meta));
  thread.scrollTop = thread.scrollHeight;
  return meta;
}

function note(text) {
  thread.append(el("p", { class: "note" }, text));
  thread.scrollTop = thread.scrollHeight;
}

async function deliver(text) {
  const meta = show("mine", text || "(empty)", "sending");
  try {
    const response = await fetch("/sms-simulator/messages", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ number: number.value, text }),
    });
    const told = await response.json();
    if (!response.ok) throw new Error(told.error);
    meta.textContent = counted(told.sent);
    if (told.reply.text) show("theirs", told.reply.text, counted(told.reply));
    else note("No reply was sent.");
    trouble.textContent = "";
  } catch (error) {
    meta.textContent = "not sent";
    const lost = error instanceof TypeError || error instanceof SyntaxError;
    trouble.textContent = lost ? "The server does not answer. Is it running?" : error.message;
    if (!words.value) words.value = text;
  }
}

function send(text) {
  const now = number.value.trim();
  if (now !== from) note(`Now from ${(from = now)}.`);
  queue = queue.then(() => deliver(text));
}

function submit() {
  const text = words.value.trim();
  words.value = "";
  find("size").textContent = ENTER;
  send(text);
  words.focus();
}

find("composer").addEventListener("submit", (event) => {
  event.preventDefault();
  submit();
});

words.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || event.shiftKey || event.isComposing) return;
  event.preventDefault();
  submit();
});

words.addEventListener("input", () => {
  const length = words.value.length;
  find("size").textContent = length ? `${length} characters. ${ENTER}` : ENTER;
});

for (const button of document.querySelectorAll("#examples button")) {
  button.addEventListener("click", () => send(button.textContent));
}
