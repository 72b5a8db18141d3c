// Residents' chats: who waits, what was said so far, and answering one.

import { el, prose } from "/web/dom.js";
import { districtName } from "./caller.js";
import { ask, Refused } from "./server.js";

const AGAIN = 1000;
const AFTER_FAULT = 5000;
const byId = (id) => document.getElementById(id);
const WHO = { resident: "Resident", agent: "You", assistant: "Lidwise", note: "" };

function waited(seconds) {
  const minutes = Math.floor(seconds / 60);
  return minutes < 1 ? "less than a minute" : `${minutes} minute${minutes === 1 ? "" : "s"}`;
}

export function chats() {
  const said = byId("chats-said");
  const rows = new Map();
  const heard = new Map();
  let known = [];
  let stamp = "";
  let open = null;
  let drawn = 0;

  const title = (chat) => `${chat.district ? districtName(chat.district) : "District not known"}`;

  function unread(chat) {
    return chat.mine && chat.id !== open && chat.heard > (heard.get(chat.id) || 0);
  }

  function count() {
    const number = known.filter((chat) => !chat.mine || unread(chat)).length;
    byId("chat-count").textContent = String(number);
    byId("to-chats").classList.toggle("calls", number > 0);
    document.title = number ? `(${number}) Lidwise panel` : "Lidwise panel";
  }

  function news(next) {
    const before = new Map(known.map((chat) => [chat.id, chat]));
    const fresh = next.filter((chat) => !before.has(chat.id) && !chat.mine);
    const words = next.filter((chat) => chat.mine && chat.id !== open && before.has(chat.id) && before.get(chat.id).heard < chat.heard);
    if (fresh.length) said.textContent = fresh.length === 1 ? "A resident is waiting for a person." : `${fresh.length} residents are waiting for a person.`;
    else if (words.length) said.textContent = "A resident wrote in a chat you took.";
  }

  function draw() {
    const focused = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.act : null;
    rows.clear();
    byId("chat-list").replaceChildren(...known.map((chat) => {
      const act = (what, label, onclick, main) => el("button", { type: "button", class: main ? "main-button" : "quiet", "data-act": `${what}-${chat.id}`, onclick },
        label, el("span", { class: "unseen" }, ` chat ${chat.id}`));
      const row = el("li", { class: chat.id === open ? "open" : null },
        el("p", { class: "chat-top" }, el("strong", {}, title(chat)),
          el("span", { class: "badge" }, chat.mine ? (unread(chat) ? "New words" : "Yours") : "Waiting")),
        el("p", { class: "soft small" }, chat.mine ? "" : `Waits ${waited(chat.waited)}. `, chat.here ? "" : "The page may be closed."),
        chat.first ? el("p", { class: "quote" }, chat.first) : null,
        chat.last && chat.last !== chat.first ? el("p", { class: "quote" }, el("span", { class: "soft" }, "Last: "), chat.last) : null,
        el("div", { class: "row" }, act("read", chat.mine ? "Open" : "Read", () => read(chat.id, true)),
          chat.mine ? null : act("take", "Take", () => take(chat.id), true)));
      rows.set(chat.id, row);
      return row;
    }));
    if (focused) {
      const again = document.querySelector(`[data-act="${focused}"]`);
      if (again) again.focus();
    }
    byId("no-chats").hidden = known.length > 0;
    count();
  }

  function line({ who, text }) {
    if (who === "note") return el("p", { class: "note" }, text);
    return el("div", { class: `line ${who}` }, el("p", { class: "by" }, WHO[who] || who), prose(text));
  }

  async function read(id, focus) {
    let chat;
    try {
      chat = await ask(`/panel/api/chats/${id}`);
    } catch (error) {
      if (open === id) over();
      else said.textContent = error.message;
      return;
    }
    const other = open !== id;
    if (other) {
      drawn = 0;
      byId("chat-lines").replaceChildren();
      byId("chat-text").value = "";
    }
    open = id;
    heard.set(id, chat.heard);
    byId("chat").hidden = false;
    byId("chat-name").textContent = `Chat ${id}`;
    byId("chat-about").textContent = `${title(chat)}. ${chat.mine ? "You have this chat." : "You are only reading. The assistant still answers."}`;
    const log = byId("chat-lines");
    // What was said before is not read out line by line.
    log.setAttribute("aria-live", other ? "off" : "polite");
    log.append(...chat.lines.slice(drawn).map(line));
    if (chat.lines.length > drawn) log.scrollTop = log.scrollHeight;
    drawn = chat.lines.length;
    acts(chat);
    if (focus) byId(chat.mine ? "chat-text" : "chat-name").focus();
    draw();
  }

  function acts(chat) {
    const button = (label, onclick, main) => el("button", { type: "button", class: main ? "main-button" : "quiet", onclick }, label);
    const wanted = chat.mine ? "mine" : "waiting";
    byId("chat-form").hidden = !chat.mine;
    if (byId("chat-acts").dataset.state === `${chat.id}-${wanted}`) return;
    byId("chat-acts").dataset.state = `${chat.id}-${wanted}`;
    byId("chat-acts").replaceChildren(...(chat.mine
      ? [button("End chat", () => act(chat.id, "end")), button("Give back", () => act(chat.id, "back"))]
      : [button("Take this chat", () => take(chat.id), true)]));
  }

  function over() {
    byId("chat-form").hidden = true;
    byId("chat-acts").replaceChildren();
    byId("chat-acts").dataset.state = "";
    byId("chat-about").textContent = "This chat is over, or somebody else has it.";
    said.textContent = "This chat is over.";
    open = null;
  }

  function close() {
    open = null;
    drawn = 0;
    byId("chat").hidden = true;
    byId("chat-lines").replaceChildren();
    byId("chats-name").focus();
    draw();
  }

  async function act(id, what, body = {}) {
    try {
      await ask(`/panel/api/chats/${id}/${what}`, body);
    } catch (error) {
      said.textContent = error.message;
      byId("chat-about").textContent = error.message;
      if (error instanceof Refused && error.status === 409 && what === "take") await refresh();
      return false;
    }
    if (what === "end" || what === "back") {
      said.textContent = what === "end" ? "The chat is ended." : "The chat is given back.";
      close();
    }
    return true;
  }

  async function take(id) {
    if (await act(id, "take")) await read(id, true);
  }

  byId("chat-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const box = byId("chat-text");
    const text = box.value.trim();
    if (!text || open === null) return;
    box.value = "";
    if (!(await act(open, "say", { text }))) box.value = text;
    else await read(open, false);
    box.focus();
  });
  byId("chat-text").addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.shiftKey || event.isComposing) return;
    event.preventDefault();
    byId("chat-form").requestSubmit();
  });
  byId("chat-close").addEventListener("click", close);
  byId("ready").addEventListener("change", () => { stamp = ""; });

  function shown(told) {
    news(told.chats);
    stamp = told.stamp;
    known = told.chats;
    draw();
  }

  async function refresh() {
    shown(await ask(`/panel/api/chats?ready=${byId("ready").checked ? "yes" : "no"}`));
  }

  /** Asks for news for as long as the page is open; that also shows the server that the page is there. */
  async function follow() {
    for (;;) {
      let pause = AGAIN;
      try {
        const ready = byId("ready").checked ? "yes" : "no";
        const before = stamp;
        const told = await ask(`/panel/api/chats?ready=${ready}&stamp=${encodeURIComponent(stamp)}`);
        if (told.stamp !== before) shown(told);
        if (open !== null) await read(open, false);
      } catch {
        pause = AFTER_FAULT;
      }
      await new Promise((done) => setTimeout(done, pause));
    }
  }

  return { follow };
}
