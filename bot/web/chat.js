// The chat, put together on an element of the page or of the widget's shadow root.

import { messageBox, shortened } from "./composer.js";
import { districtChoice } from "./district.js";
import { el } from "./dom.js";
import { conversation } from "./log.js";
import { personButton } from "./person-button.js";
import { outbox } from "./queue.js";
import { skeleton } from "./skeleton.js";
import * as store from "./store.js";

function tidy({ text, buttons, custom }) {
  const kept = {};
  if (typeof text === "string") kept.text = text;
  if (Array.isArray(buttons)) kept.buttons = buttons;
  if (custom && typeof custom === "object") kept.custom = custom;
  return kept;
}

/**
 * Puts a chat in `place`. `base` is where the server is, `scroller` what scrolls, `scheme` is told what the server
 * says of the scheme, `heard` of each reply. A `district` counts where the resident picked none, unless `force`.
 */
export function mount(place, { base = "", scroller = document.documentElement, on = null, district = null, force = false, scheme = () => {}, heard = () => {} } = {}) {
  let state = store.load();
  let day = on;
  const { whole, parts } = skeleton();
  const current = () => state;
  const save = () => store.save(state);
  let sayLater = 0;

  function sayAloud(text) {
    parts.said.textContent = "";
    clearTimeout(sayLater);
    sayLater = setTimeout(() => { parts.said.textContent = text; }, 100);
  }

  const districts = districtChoice({
    parts,
    base,
    state: current,
    save,
    scheme,
    changed(id) {
      if (state.turns.length) note(id ? `New answers are for ${districts.name(id)}.` : "New answers are for any district.");
    },
    done: () => box.focus(),
  });

  const log = conversation({
    parts,
    state: current,
    scroller,
    hooks: {
      districtName: districts.name,
      say: sayAloud,
      choose(option, button) {
        button.classList.add("chosen");
        const turn = say(option.title, option.payload);
        if (matchMedia("(pointer: coarse)").matches) log.node(turn).focus({ preventScroll: true });
        else box.focus();
      },
      retry(turn) {
        turn.trouble = null;
        log.place(turn, true);
        box.focus();
        send(turn);
      },
      give(turn, kind, text) {
        turn.verdict = { kind, note: text };
        queue.remark({ sender: state.sender, message_id: turn.to, kind, note: text });
      },
    },
  });

  const queue = outbox({
    base,
    state: current,
    save,
    metadata() {
      const told = { channel: "webchat" };
      if (state.district) told.district = state.district;
      if (day) told.on = day;
      return told;
    },
    show: {
      waiting: wait,
      trouble(turn) {
        log.place(turn, true);
        log.bring(log.node(turn), "nearest");
      },
      answered,
      remarked(remark, stored) {
        const turn = state.turns.find((one) => one.to === remark.message_id);
        if (!turn || !turn.verdict || stored) return;
        turn.verdict.refused = true;
        log.judged(turn);
        sayAloud("Sorry, this could not be kept.");
      },
    },
  });

  const box = messageBox({
    parts,
    sent: (text) => say(text),
    drafted(text) {
      state.draft = text;
      save();
    },
    say: sayAloud,
  });

  function wait(text, slow) {
    if (!text) return parts.waiting.replaceChildren();
    parts.waiting.replaceChildren(el("span", { class: "dots", "aria-hidden": "true" }, el("i"), el("i"), el("i")),
      el("span", { class: slow ? "slow" : null }, text));
  }

  function answered(turn, received) {
    const messages = received.map(tidy);
    const carrier = messages.find((message) => message.custom);
    if (turn.toDistrict && !state.district && carrier && districts.knows(carrier.custom.district)) districts.set(carrier.custom.district);
    log.place(turn, true);
    log.closeChoices();
    const reply = { id: store.newId(), from: "bot", to: turn.id, messages };
    state.turns.splice(state.turns.indexOf(turn) + 1, 0, reply);
    if (state.turns.at(-1) === reply) log.arrive(reply);
    else placeBefore(reply);
    if (carrier) human.offer(carrier.custom.kind, log.node(reply));
    save();
    heard(carrier ? carrier.custom : {});
  }

  /** A reply stands under its own message, also when later ones wait below it. */
  function placeBefore(reply) {
    const node = log.place(reply, true);
    log.node(state.turns[state.turns.indexOf(reply) - 1]).after(node);
    log.bring(node, "nearest");
  }

  function add(turn) {
    state.turns.push(turn);
    save();
    return log.place(turn, true);
  }

  function note(text) {
    add({ id: store.newId(), from: "note", text });
  }

  /** Every line of the resident goes through here, to the assistant or to the person who took over. */
  function say(text, payload = text) {
    const picked = districts.picked();
    if (picked !== undefined) districts.set(picked);
    const asking = log.lastAsking();
    const carrier = asking && asking.messages.find((message) => message.custom);
    const asks = carrier && carrier.custom.asks;
    log.closeChoices();
    const turn = { id: store.newId(), from: "me", text, payload, toDistrict: Boolean(asks && asks.condition === "district") };
    turn.waits = !human.taken();
    add(turn);
    send(turn);
    log.bring(parts.waiting, "end", true);
    return turn;
  }

  function send(turn) {
    if (human.taken()) human.say(turn);
    else toAssistant(turn);
  }

  function toAssistant(turn) {
    turn.waits = true;
    save();
    queue.pump();
  }

  parts.examples.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    say(button.textContent);
    box.focus();
  });

  parts.clear.addEventListener("click", () => parts["clear-ask"].showModal());
  parts["clear-ask"].addEventListener("close", () => {
    const chosen = parts["clear-ask"].returnValue;
    parts["clear-ask"].returnValue = "";
    if (chosen !== "clear") return;
    human.leave();
    state = store.cleared(state);
    save();
    box.fill("");
    log.drawAll();
    wait("");
    sayAloud("The chat is cleared.");
    box.focus();
  });

  const human = personButton({
    base,
    button: parts.person,
    conversation: current,
    hear: (text, name) => arrived({ from: "person", name, text }),
    reply: (message) => arrived({ from: "bot", messages: [message] }),
    note,
    trouble(turn, text) {
      turn.trouble = { label: "Not sent.", text };
      save();
      log.place(turn, true);
    },
    assistant: toAssistant,
  });

  /** Shows a turn that came by itself. */
  function arrived(turn) {
    const whole = { id: store.newId(), ...turn };
    state.turns.push(whole);
    save();
    log.arrive(whole);
    heard({});
  }

  function network() {
    parts.offline.hidden = navigator.onLine;
  }
  addEventListener("online", network);
  addEventListener("offline", network);

  new ResizeObserver(() => {
    scroller.style.setProperty("--composer", parts.composer.offsetHeight + "px");
  }).observe(parts.composer);

  async function start() {
    place.replaceChildren(whole);
    network();
    log.drawAll();
    human.restore();
    box.fill(state.draft);
    await districts.load();
    if (districts.knows(district) && (force || !state.districtAsked)) districts.set(district);
    log.drawAll();
    save();
    if (state.turns.length) log.reveal(parts.log.lastElementChild);
    queue.pump();
  }

  const ready = start();
  return {
    ready,
    note,
    focus: box.focus,
    /** Asks as the resident would by typing it. */
    async ask(text) {
      await ready;
      if (text.trim()) say(shortened(text.trim()));
    },
    setDay(iso) {
      day = iso;
    },
    settle: () => state.turns.length && log.reveal(parts.log.lastElementChild),
  };
}
